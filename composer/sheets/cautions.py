"""Cautions that stand on what is printed: short, with their source; law and practice decide."""

CAUTIONS = (
    "Paper lies true on the stretch of limb it was cut for. Lay it dry with the client standing at ease, look, and "
    "freehand where it will not lie. (Common practice, no published source.)",
    "Keep clear of moles, pigmented spots and broken or diseased skin. Ask a doctor first about skin disease, heart "
    "disease, weak immunity, clotting disorders or blood thinners, pregnancy and breast-feeding (Kluger 2015, "
    "doi 10.1159/000369189; Kluger and De Cuyper 2018, doi 10.1007/s40257-017-0326-5).",
    "Work by safe and hygienic practice (EN 17169:2020). Inks, age limits, consent and licences follow the law where "
    "you work.",
    "Redness or swelling that grows or lasts over two days, or weeping past a day or two: seek medical advice.",
)
