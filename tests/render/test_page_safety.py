"""The page as a document: whole, asking for nothing, running one script, and names that try to break out of it."""

import base64
import hashlib
import json
import re

import pytest

from tests.fakes import TYPICAL_BAG
from tests.render.pages import Outline, facts_of
from wedgelab.render.page import page_html
from wedgelab.shots import Bag, SwingLength, Wedge

FACTS = facts_of()
PAGE = page_html(FACTS)
HOSTILE = (
    "<script>alert(1)</script>",
    "\"><img src=x onerror='alert(1)'>",
    "</style></title></script>",
    "{{ 7*7 }}{% raw %}",
    "$\\frac{1}{0}$ & co",
    "=cmd()|' /C calc'!A0",
    "\u05d0\u05d1\u05d2 \u0645\u0631\u062d\u0628\u0627",
    "]]> --> <!--",
)


def test_it_is_whole_and_every_reference_leads_somewhere() -> None:
    outline = Outline(PAGE)
    assert outline.faults == []
    ids = outline.values("id")
    assert len(ids) == len(set(ids))
    wanted = [one for name in ("aria-labelledby", "for") for value in outline.values(name) for one in value.split()]
    wanted += [value.removeprefix("#") for value in outline.values("href")]
    wanted += re.findall(r"url\(#([^)]+)\)", PAGE)
    assert len(wanted) > 30
    assert set(wanted) <= set(ids)
    tags = [tag for tag, _ in outline.elements]
    assert tags.count("h1") == 1
    assert tags.count("table") == tags.count("caption") > 4
    assert all("scope" in got for tag, got in outline.elements if tag == "th")
    pictures = [got for tag, got in outline.elements if tag == "svg"]
    assert len(pictures) == 3 + len(FACTS.dispersions)
    assert all(got["role"] == "img" and got["aria-labelledby"] for got in pictures)


def test_it_asks_for_nothing_from_outside() -> None:
    assert not re.search(r"https?:|//[a-z]|@import|url\((?!#)", PAGE)
    outline = Outline(PAGE)
    assert {tag for tag, _ in outline.elements} & {"img", "link", "iframe", "object", "embed", "base"} == set()
    assert outline.values("src") == []
    assert all(value.startswith("#") for value in outline.values("href"))


def test_only_the_one_script_may_run() -> None:
    outline = Outline(PAGE)
    (policy,) = [got["content"] for _, got in outline.elements if got.get("http-equiv") == "Content-Security-Policy"]
    data, script = outline.scripts
    assert json.loads(data)
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert policy is not None
    assert policy.split("; ") == [
        "default-src 'none'", "style-src 'unsafe-inline'", f"script-src 'sha256-{digest}'",
        "base-uri 'none'", "form-action 'none'",
    ]  # fmt: skip
    assert not any(name.startswith("on") for _, got in outline.elements for name in got)


@pytest.mark.parametrize("first", [0, 4])
def test_a_name_stays_a_name(first: int) -> None:
    player, *labels = HOSTILE[first:] + HOSTILE[:first]
    bag = Bag(
        tuple(Wedge(label[:40], loft) for label, loft in zip(labels[:3], (50.0, 55.0, 60.0), strict=True)),
        tuple(SwingLength(label[:40], angle) for label, angle in zip(labels[3:6], (45.0, 90.0, 135.0), strict=True)),
    )
    outline, plain = Outline(page_html(facts_of(bag, player=player))), Outline(PAGE)
    assert outline.faults == []
    drawn = {"use", "path", "g", "text"}  # matplotlib's own: a long name has more lines
    assert [tag for tag, _ in outline.elements if tag not in drawn] == [
        tag for tag, _ in plain.elements if tag not in drawn
    ]
    assert len(outline.scripts) == 2
    assert outline.scripts[1] == plain.scripts[1]
    known = {row["wedge"] for row in json.loads(outline.scripts[0])}
    assert known <= {wedge.label for wedge in bag.wedges}
    assert len(known) > 1
    assert " ".join(player.split()) in outline.text
    assert outline.rows[0][1:] == [" ".join(swing.label.split()) for swing in bag.swings]
    assert [row[0] for row in outline.rows[1:4]] == [
        " ".join(f"{wedge.label} ({wedge.loft_deg:.0f})".split()) for wedge in bag.wedges
    ]


def test_the_longest_names_stay_whole_and_may_break_anywhere() -> None:
    bag = Bag(tuple(Wedge(letter * 40, 50.0 + i) for i, letter in enumerate("WMX")), TYPICAL_BAG.swings)
    page = page_html(facts_of(bag, player="N" * 200, dispersions=()))
    assert f"<h1><bdi>{'N' * 200}</bdi></h1>" in page
    assert f'<bdi class="long">{"W" * 40} (50)</bdi>' in page
    assert "long" not in [*Outline(PAGE).values("class")]
