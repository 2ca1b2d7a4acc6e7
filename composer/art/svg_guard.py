"""What an SVG file may hold before anything of it is read: safe XML, bounded size."""

from __future__ import annotations

import gzip
import io
import zlib
from xml.etree.ElementTree import Element, ParseError

from defusedxml import ElementTree as SafeTree
from defusedxml.common import DefusedXmlException

from composer.art.errors import ArtError

SVG = "{http://www.w3.org/2000/svg}"
HREF = "{http://www.w3.org/1999/xlink}href"
MOST_BYTES = 8_000_000
MOST_ELEMENTS = 20_000
MOST_DEPTH = 120
MOST_POINTS = 400_000
MOST_STYLE = 150_000
GZIP = b"\x1f\x8b"


def read_tree(data: bytes) -> tuple[Element, list[str]]:
    """Root element of a safe SVG (plain, or packed as SVGZ) and notes on what was left out.

    Scripts, event handlers, styles from elsewhere, embedded pages and references that leave the
    file are taken out. Raises ArtError for anything that is no SVG or goes past the limits.
    """
    if data.startswith(GZIP):
        data = _unpacked(data)
    if len(data) > MOST_BYTES:
        raise ArtError(f"The file has {len(data) / 1e6:.0f} MB; at most {MOST_BYTES / 1e6:.0f} MB of SVG are read. "
                       "Simplify the paths and save it again.")
    if not data.strip():
        raise ArtError("The file is empty; save the drawing again as SVG.")
    if data.count(b"<") > MOST_ELEMENTS * 2 + 1000:
        raise ArtError(f"The drawing has more than {MOST_ELEMENTS} elements; join its shapes and save it again.")
    try:
        root = SafeTree.fromstring(data, forbid_dtd=False, forbid_entities=True, forbid_external=True)
    except DefusedXmlException as err:
        raise ArtError("The file declares XML entities or outside files, which are not read because they can do "
                       "harm; save it again as plain SVG.") from err
    except (ParseError, ValueError, LookupError) as err:     # ValueError: an encoding that is not read
        raise ArtError(f"The file is not whole XML ({err}); it may have been cut short. Save it again as SVG.") from err
    if root.tag not in (f"{SVG}svg", "svg"):
        raise ArtError("The file is XML but no SVG drawing; save the drawing as SVG.")
    notes: list[str] = []
    _clean(root, notes, 0)
    _bound_uses(root)
    return root, list(dict.fromkeys(notes))


def _unpacked(data: bytes) -> bytes:
    """An SVGZ file (SVG 1.1, 1.2: SVG packed with gzip) unpacked, as far as one byte past what is read."""
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
            return packed.read(MOST_BYTES + 1)
    except (OSError, EOFError, zlib.error) as err:
        raise ArtError("The packed SVG cannot be unpacked; it may have been cut short. Save it again as SVG.") from err


def local_name(tag: object) -> str:
    """A tag without its namespace."""
    return tag.rpartition("}")[2] if isinstance(tag, str) else ""


def _clean(element: Element, notes: list[str], depth: int) -> None:
    if depth > MOST_DEPTH:
        raise ArtError(f"The drawing nests more than {MOST_DEPTH} groups deep; ungroup it and save it again.")
    for child in list(element):
        name = local_name(child.tag)
        if name in ("script", "foreignObject", "iframe", "handler", "audio", "video"):
            element.remove(child)
            notes.append("A script or an embedded page in the file was left out.")
        elif name == "image":
            element.remove(child)
            notes.append("A picture embedded in the file was left out; only shapes and lines are read.")
        elif name in ("text", "tspan", "textPath"):
            element.remove(child)
            notes.append("Text was left out; turn letters into outlines to keep them.")
        elif name == "style":
            child.text, left = own_styles("".join(child.itertext()))
            for inner in list(child):
                child.remove(inner)
            if left:
                notes.append("A font or style from outside the file was left out.")
        elif name in ("animate", "animateTransform", "animateMotion", "set"):
            element.remove(child)
        else:
            _clean(child, notes, depth + 1)
    for key in list(element.attrib):
        value = element.attrib[key]
        if local_name(key).lower().startswith("on"):
            del element.attrib[key]
            notes.append("A script in the file was left out.")
        elif ((key in (HREF, "href") and not value.strip().startswith("#"))
              or ("url(" in value and "url(#" not in value.replace(" ", ""))):
            del element.attrib[key]
            notes.append("A reference to something outside the file was left out.")


def own_styles(text: str) -> tuple[str, bool]:
    """The whole rules of a style sheet, without comments and what they take from outside the file, and whether there
    was any of that. Raises ArtError when it is too long. It is split, since patterns on damaged text take for ever."""
    if len(text) > MOST_STYLE:
        raise ArtError(f"The drawing's style sheet has more than {MOST_STYLE // 1000} kB; save it again as plain SVG.")
    first, *more = text.split("/*")
    out: list[str] = []
    left = False
    for rule in (first + "".join(m.partition("*/")[2] for m in more)).split("}"):
        head, brace, body = rule.rpartition("{") if "@media" in rule else rule.partition("{")
        heads, said = head.split(";"), body.split(";")
        kept = [d for d in said if d.strip() and not _outside(d)]
        left |= any("@import" in h for h in heads) or any(map(_outside, said)) or "@font-face" in head
        if brace and kept and heads[-1].strip() and "@font-face" not in head:
            out.append(f"{heads[-1].strip()}{{{';'.join(kept)}}}")
    return "\n".join(out), left


def _outside(declared: str) -> bool:
    bare = "".join(c for c in declared if c not in " \t\r\n'\"")
    return "url(" in bare.replace("url(#", "")


def _bound_uses(root: Element) -> None:
    by_id = {e.get("id"): e for e in root.iter() if e.get("id")}
    sizes: dict[int, int] = {}

    def size(e: Element, trail: tuple[int, ...]) -> int:
        if id(e) in trail:
            raise ArtError("The drawing uses a part of itself inside itself; break the link and save it again.")
        if id(e) not in sizes:
            n = 1 + sum(size(c, (*trail, id(e))) for c in e)
            if local_name(e.tag) == "use":
                goal = by_id.get((e.get("href") or e.get(HREF) or "").strip().lstrip("#"))
                if goal is not None:
                    n += size(goal, (*trail, id(e)))
            if n > MOST_ELEMENTS:
                raise ArtError(f"With all its copies the drawing has more than {MOST_ELEMENTS} elements; "
                               "join its shapes and save it again.")
            sizes[id(e)] = n
        return sizes[id(e)]

    size(root, ())
