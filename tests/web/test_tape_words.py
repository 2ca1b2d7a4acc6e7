"""Few words at each field; sources once."""

from composer.body.kinds import fields_of
from composer.body.measures import check
from web.tape_words import at_fields, sources

LABELS = {f.name: f.label for f in fields_of("left_arm")}


def test_a_field_left_empty_says_what_is_usual_and_nothing_else() -> None:
    _, problems = check({"wrist": "1744"}, "cm")
    shown = at_fields(problems, {"wrist": "1744"})
    assert shown["wrist"][0].sentence.startswith("Wrist is 1744.0 cm; it must lie within 7.6 to 29.7 cm.")
    elbow = shown["elbow"][0].sentence
    assert elbow.startswith("Elbow is missing. ") and elbow.endswith(" is usual.")
    for found in shown.values():
        assert all("Range" not in p.sentence and "Write it as" not in p.sentence for p in found)


def test_how_to_write_it_stays_where_something_was_written() -> None:
    _, problems = check({"wrist": "long"}, "cm")
    assert "Write it as 17.5 cm" in at_fields(problems, {"wrist": "long"})["wrist"][0].sentence


def test_every_source_is_told_once_and_for_every_measure_that_has_it() -> None:
    _, problems = check({}, "cm")
    told = sources(problems, LABELS)
    assert len({source for _, source in told}) == len(told)
    assert sorted(", ".join(names for names, _ in told).split(", ")) == sorted(LABELS.values())
    assert all(any(source in p.sentence for p in problems) for _, source in told)
