"""A matplotlib figure as SVG that belongs to the page: own ids, the page's colours and letters, an alternative text.

matplotlib writes every colour into the picture. Here each known one becomes a CSS variable with that colour as its
fallback, so that `page.css` can lighten it on a dark screen; letters get a darker variant, since colours that are easy
to tell apart are not dark enough to read.
"""

import io
import re
import warnings
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET

from wedgelab.render.figure import COLOURS

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_SVG: Final = "http://www.w3.org/2000/svg"
_LINK: Final = "{http://www.w3.org/1999/xlink}href"
_GREYS: Final = ("#bbbbbb", "#999999", "#b0b0b0", "#808080")
_NAMES: Final = {
    **{colour.lower(): f"c{i}" for i, colour in enumerate(COLOURS)},
    **dict.fromkeys(_GREYS, "quiet"),
    "#ffffff": "panel",
    "#000000": "ink",
}
_COLOUR: Final = re.compile(r"#[0-9a-f]{6}\b")
_REFERENCE: Final = re.compile(r"url\(#([^)]+)\)")
_LONG_NUMBER: Final = re.compile(r"-?\d+\.\d{3,}")
_FONT: Final = re.compile(r"font-family:[^;]*;?\s*")
_SHORTHAND: Final = re.compile(r"font: (?P<style>[^;]*?)(?P<size>\d[\d.]*px)[^;]*(?=;|$)")
_ROUNDED: Final = ("d", "x", "y", "transform", "width", "height", "points")


def figure_svg(figure: "Figure", key: str, title: str, description: str) -> str:
    """Return the figure as an ``svg`` element; ``key`` tells its ids from those of other pictures in the page."""
    root = ET.fromstring(_drawn(figure))  # noqa: S314  matplotlib wrote it this moment
    _drop(root, "metadata", "style")  # the style is a rule for the whole page; page.css has it for pictures alone
    _own_ids(root, key)
    for element in root.iter():
        _settle(element)
    for name in ("width", "height"):  # as wide as its place; the view box keeps the shape
        root.attrib.pop(name, None)
    root.attrib.update({"class": "picture", "role": "img", "aria-labelledby": f"{key}-title {key}-text"})
    _straighten(root)
    for place, (name, part, text) in enumerate((("title", "title", title), ("desc", "text", description))):
        element = ET.Element(f"{{{_SVG}}}{name}", {"id": f"{key}-{part}"})
        element.text = text
        root.insert(place, element)
    return _without_prefixes(ET.tostring(root, encoding="unicode"))


def _drawn(figure: "Figure") -> str:
    """Return what matplotlib writes; the same figure gives the same text."""
    from matplotlib import rc_context

    target = io.StringIO()
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "wedgelab"}), warnings.catch_warnings():
        # a sign that matplotlib's font lacks is measured as a box, and drawn by the reader's browser
        warnings.filterwarnings("ignore", message="Glyph .* missing from")
        figure.savefig(target, format="svg", metadata={"Date": None})
    return target.getvalue()


def _drop(root: ET.Element, *names: str) -> None:
    """Take elements of these names out of the tree."""
    tags = {f"{{{_SVG}}}{name}" for name in names}
    for parent in list(root.iter()):
        for child in [child for child in parent if child.tag in tags]:
            parent.remove(child)


def _own_ids(root: ET.Element, key: str) -> None:
    """Put the key before every id that is referred to, and drop the others: matplotlib numbers each picture alike."""
    wanted: set[str] = set()
    for element in root.iter():
        wanted.update(found for value in element.attrib.values() for found in _REFERENCE.findall(value))
        if _LINK in element.attrib:
            wanted.add(element.attrib[_LINK].removeprefix("#"))
    names = {name: f"{key}-{i}" for i, name in enumerate(sorted(wanted))}
    for element in root.iter():
        own = element.attrib.pop("id", None)
        if own in names:
            element.set("id", names[own])
        if _LINK in element.attrib:
            element.set("href", f"#{names[element.attrib.pop(_LINK).removeprefix('#')]}")
        for name, value in list(element.attrib.items()):
            if "url(" in value:
                element.set(name, _REFERENCE.sub(lambda found: f"url(#{names[found[1]]})", value))


def _settle(element: ET.Element) -> None:
    """Put the page's colours and letters in the place of matplotlib's, and shorten its numbers."""
    is_text = element.tag == f"{{{_SVG}}}text"
    style = element.attrib.get("style")
    painted = [f"{name}: {element.attrib.pop(name)}" for name in ("fill", "stroke") if name in element.attrib]
    if painted:  # a hatch's ground; a variable is understood in a style alone
        style = "; ".join([*painted, *([style] if style else [])])
    if style is not None:
        style = _SHORTHAND.sub(r"font-size: \g<size>", style)
        style = _COLOUR.sub(lambda found: _variable(found[0], is_text=is_text), _FONT.sub("", style)).strip()
        element.set("style", style)
    for name in _ROUNDED:
        if name in element.attrib:
            shorter = _LONG_NUMBER.sub(lambda found: f"{float(found[0]):.2f}", element.attrib[name])
            element.set(name, re.sub(r"\s+", " ", shorter).strip())
    if is_text and element.attrib.get("transform", "").startswith("rotate(-0 "):
        del element.attrib["transform"]


def _variable(colour: str, *, is_text: bool) -> str:
    name = _NAMES.get(colour)
    if name is None:
        return colour
    return f"var(--{f't{name[1:]}' if is_text and name[1:].isdigit() else name}, {colour})"


def _straighten(element: ET.Element) -> None:
    """Take groups that say nothing out of the tree, and the white space between elements."""
    for child in list(element):
        _straighten(child)
    kept: list[ET.Element] = []
    for child in list(element):
        if child.tag == f"{{{_SVG}}}g" and not child.attrib:
            kept.extend(child)
        elif child.tag != f"{{{_SVG}}}defs" or len(child):
            kept.append(child)
    for child in list(element):
        element.remove(child)
    for child in kept:
        child.tail = None
        element.append(child)
    if kept:
        element.text = None


def _without_prefixes(text: str) -> str:
    """Write the tags as HTML knows them: inside a page an ``svg`` needs no name space."""
    text = re.sub(r"<(/?)ns\d+:", r"<\1", text)
    return re.sub(r'\sxmlns:ns\d+="[^"]*"', "", text)
