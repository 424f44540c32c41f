"""The page in a real browser: phone and desk, light and dark, without scripts, without a network, on paper."""

import io
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from pypdf import PdfReader
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from tests.browser.logs import HOSTILE_PLAYER, HOSTILE_SWINGS, HOSTILE_WEDGES, SWINGS, WEDGES, write_log
from tests.browser.phone import Phone, Theme, axe_script, open_phone
from tests.render.pages import Outline
from wedgelab.cli.main import run
from wedgelab.shots import SwingLength, Wedge

pytestmark = pytest.mark.long

THEMES: tuple[Theme, ...] = ("light", "dark")
WIDTHS = (320, 360, 768, 1280)  # 320: what remains of a desk's screen at 400 % (WCAG 2.2, 1.4.10)
PAPER_PX = 703  # A4 without its margins of 12 mm, at 96 to the inch (CSS Values 4, 6.2)
LEAST_PX = 9.0
TEXT_CONTRAST, MARK_CONTRAST = 4.5, 3.0  # WCAG 2.2, 1.4.3 and 1.4.11
# relative luminance and contrast ratio as WCAG 2.2 defines them; a colour is what the browser makes of it
CONTRAST = """
const light = (colour) => {
  const [r, g, b] = colour.match(/[\\d.]+/g).slice(0, 3).map((x) => x / 255)
    .map((x) => x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
};
const contrast = (a, b) => (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
const panel = getComputedStyle(document.querySelector("section")).backgroundColor;
"""


# as players call them: two words each, five swings, so that the chart is a wide one
WORDY_WEDGES = tuple(
    Wedge(label, loft_deg)
    for label, loft_deg in (("pitching wedge", 46.0), ("gap wedge", 50.0), ("sand wedge", 54.0), ("lob wedge", 58.0))
)
WORDY_SWINGS = tuple(
    SwingLength(label, swing_deg)
    for label, swing_deg in (
        ("half swing", 60.0), ("hip high", 80.0), ("9:00", 90.0), ("three quarter", 120.0), ("full", 165.0),
    )
)  # fmt: skip


@dataclass(frozen=True)
class Pages:
    """The pages that are looked at, made by the command."""

    plain: Path
    hostile: Path
    first_ball: Path
    wordy: Path


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Pages:
    folder = tmp_path_factory.mktemp("pages")
    logs = {
        "plain": write_log(folder / "plain.db"),
        "hostile": write_log(
            folder / "hostile.db", player=HOSTILE_PLAYER, wedges=HOSTILE_WEDGES, swings=HOSTILE_SWINGS, balls=2
        ),
        "first_ball": write_log(
            folder / "first.db", wedges=WEDGES[:1], swings=SWINGS[:1], balls=1, offline=False, drills=0
        ),
        "wordy": write_log(folder / "wordy.db", wedges=WORDY_WEDGES, swings=WORDY_SWINGS),
    }
    for name, log in logs.items():
        assert run(["--db", str(log), "report", str(folder / f"{name}.html")]) == 0
    return Pages(*(folder / f"{name}.html" for name in logs))


@pytest.fixture(scope="module")
def phone() -> Iterator[Phone]:
    with open_phone() as opened:
        yield opened


@pytest.fixture(scope="module")
def axe() -> str:
    return axe_script()


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", ["plain", "hostile", "first_ball", "wordy"])
def test_it_fits_the_width_and_asks_for_nothing(
    phone: Phone, pages: Pages, name: str, width: int, theme: Theme
) -> None:
    page: Path = getattr(pages, name)
    phone.show(page, width, theme)
    assert phone.ask("return [innerWidth, document.documentElement.clientWidth]") == [width, width]
    assert phone.ask("return document.documentElement.scrollWidth") == width
    # nor does anything hide outside its frame, where it could not be scrolled to
    sticking_out = phone.ask(
        "return [...document.querySelectorAll('header, section')].flatMap((part) => {"
        "  const right = part.getBoundingClientRect().right + 0.5;"
        "  return [...part.querySelectorAll('h1, h2, h3, p, td, th, b, bdi, svg, svg text, input, output, a')]"
        "    .filter((one) => one.getBoundingClientRect().right > right)"
        "    .map((one) => `${part.id}: ${one.tagName} ${one.textContent.slice(0, 60)}`);"
        "})"
    )
    assert sticking_out == []
    assert phone.asked_for() == [page.as_uri()]
    assert phone.said() == []


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize(("name", "width"), [("plain", 360), ("plain", 1280), ("hostile", 360), ("hostile", 1280)])
def test_axe_finds_nothing_serious(phone: Phone, pages: Pages, axe: str, name: str, width: int, theme: Theme) -> None:
    phone.show(getattr(pages, name), width, theme)
    found = phone.judge(axe)
    serious = [
        (one["id"], one["impact"], [node["html"] for node in one["nodes"]][:3])
        for one in found
        if one["impact"] not in {"minor", "moderate"}
    ]
    assert serious == []


@pytest.mark.parametrize("theme", THEMES)
def test_pictures_can_be_read_in_either_theme(phone: Phone, pages: Pages, theme: Theme) -> None:
    phone.show(pages.plain, 360, theme)
    letters = phone.ask(
        CONTRAST + "return [...document.querySelectorAll('svg text')].map((one) => ["
        "  one.textContent, contrast(getComputedStyle(one).fill, panel),"
        "  parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a || 99])"
    )
    assert len(letters) > 60
    assert [one for one in letters if one[1] < TEXT_CONTRAST] == []
    upright = phone.ask(
        "return [...document.querySelectorAll('svg text:not([transform])')].map((one) => ["
        "  one.textContent, parseFloat(getComputedStyle(one).fontSize) * one.getScreenCTM().a])"
    )
    assert [one for one in upright if one[1] < LEAST_PX] == []
    marks = phone.ask(
        CONTRAST + "const style = getComputedStyle(document.documentElement);"
        "const probe = document.body.appendChild(document.createElement('i'));"
        "return ['c0', 'c1', 'c2', 'c3', 'c4', 'c5', 'ink', 'lead'].map((name) => {"
        "  probe.style.color = `var(--${name})`; return [name, contrast(getComputedStyle(probe).color, panel)]; })"
    )
    assert [one for one in marks if one[1] < MARK_CONTRAST] == []
    ground = phone.ask("return getComputedStyle(document.querySelector('section')).backgroundColor")
    assert (sum(int(x) for x in re.findall(r"\d+", ground)) < 200) == (theme == "dark")


def test_without_scripts_everything_is_there_but_the_finder(phone: Phone, pages: Pages) -> None:
    phone.show(pages.plain, 360, scripts=False)
    read = "".join(page.extract_text() for page in PdfReader(io.BytesIO(phone.pdf())).pages)
    hidden = phone.cdp("Runtime.evaluate", expression="document.getElementById('finder').hidden")
    phone.show(pages.plain, 360)
    assert hidden["result"]["value"] is True
    assert phone.ask("return document.getElementById('finder').hidden") is False
    words = " ".join(read.split())
    for row in Outline(pages.plain.read_text(encoding="utf-8")).rows[1:4]:
        for cell in row[1:]:
            assert cell.split()[1] in words
    assert "Which shot for which carry" in words


def answers_of(page: Path) -> list[dict[str, str]]:
    answers: list[dict[str, str]] = json.loads(Outline(page.read_text(encoding="utf-8")).scripts[0])
    return answers


@pytest.mark.parametrize("name", ["plain", "hostile"])
def test_moving_the_target_shows_the_row_of_the_table(phone: Phone, pages: Pages, name: str) -> None:
    page: Path = getattr(pages, name)
    rows = {row["target"]: row for row in answers_of(page)}
    phone.show(page, 360)
    slide, number = (phone.driver.find_element(By.ID, key) for key in ("slide", "target"))
    found = phone.driver.find_element(By.ID, "found")

    def check(target: int) -> None:
        row = rows[str(target)]
        assert (slide.get_property("value"), number.get_property("value")) == (str(target), str(target))
        lines = [line.text.replace("\N{NO-BREAK SPACE}", " ") for line in found.find_elements(By.XPATH, "./*")]
        wanted = [
            f"{row['wedge']} {row['swing']}",
            f"{row['chance']} inside {row['window']}",
            f"carry {row['carry']}, spin {row['spin']}, {row['balls']}",
            f"or {row['other']}",
        ]
        assert lines == [" ".join(line.split()) for line in wanted[: 4 if row["other"] else 3]]

    start = int(str(slide.get_property("value")))
    check(start)
    slide.send_keys(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    check(start + 2)
    slide.send_keys(Keys.HOME)
    check(int(next(iter(rows))))
    number.clear()
    number.send_keys(str(start - 3))
    check(start - 3)
    number.clear()
    number.send_keys("9999")
    assert found.text == "9999: no shot of the bag"
    number.send_keys(Keys.ENTER)  # a form would load the page anew
    assert number.get_property("value") == "9999"
    assert phone.said() == []
    assert phone.asked_for() == [page.as_uri()]


@pytest.mark.parametrize("name", ["plain", "hostile"])
def test_on_paper_it_is_white_without_controls_and_has_every_number(phone: Phone, pages: Pages, name: str) -> None:
    page: Path = getattr(pages, name)
    phone.show(page, 360, "dark")
    reader = PdfReader(io.BytesIO(phone.pdf()))
    assert 1 <= len(reader.pages) <= (4 if name == "plain" else 8)
    text = " ".join(" ".join(sheet.extract_text() for sheet in reader.pages).split())
    assert "Carry wanted" not in text
    assert "committee decides" in text
    outline = Outline(page.read_text(encoding="utf-8"))
    numbers = {word for row in outline.rows for cell in row for word in re.findall(r"\(?\d{2,5}\)?(?: %)?", cell)}
    assert len(numbers) > 60
    assert [number for number in numbers if number not in text] == []
    phone.cdp("Emulation.setEmulatedMedia", media="print")
    assert phone.ask("return getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert phone.ask("return getComputedStyle(document.body).color") == "rgb(0, 0, 0)"


@pytest.mark.parametrize("name", ["plain", "hostile", "wordy"])
def test_on_paper_nothing_is_cut_at_a_side(phone: Phone, pages: Pages, name: str) -> None:
    phone.show(getattr(pages, name), PAPER_PX)
    phone.cdp("Emulation.setEmulatedMedia", media="print")
    assert phone.ask("return document.documentElement.scrollWidth") <= PAPER_PX
    cut = phone.ask(
        "return [...document.querySelectorAll('section')].flatMap((part) => {"
        "  const frame = part.getBoundingClientRect();"
        "  return [...part.querySelectorAll('p, td, th, caption, figcaption, svg text')]"
        "    .map((one) => [one, one.getBoundingClientRect()])"
        "    .filter(([one, box]) => box.width && (box.left < frame.left - 1 || box.right > frame.right + 0.5))"
        "    .map(([one]) => `${part.id}: ${one.tagName} ${one.textContent.slice(0, 60)}`);"
        "})"
    )
    assert cut == []
    # a table stands beside its picture, not in it
    over = phone.ask(
        "return [...document.querySelectorAll('.side > div')].filter((one) => {"
        "  const picture = Math.max(...[...one.querySelectorAll('svg text')]"
        "    .map((text) => text.getBoundingClientRect().right));"
        "  return picture > one.querySelector('table').getBoundingClientRect().left;"
        "}).length"
    )
    assert over == 0


def test_hostile_names_ran_nothing(phone: Phone, pages: Pages) -> None:
    phone.show(pages.hostile, 360)
    assert phone.ask("return document.querySelectorAll('main img, main i, h1 script, h1 style').length") == 0
    assert phone.ask("return document.querySelector('h1').textContent") == HOSTILE_PLAYER
    heads = phone.ask("return [...document.querySelectorAll('.chart thead th bdi')].map((one) => one.textContent)")
    assert heads == [swing.label for swing in HOSTILE_SWINGS]
    assert phone.said() == []


def test_the_watch_sees_what_it_is_to_see(phone: Phone, pages: Pages, axe: str, tmp_path: Path) -> None:
    """A page with every fault: else the silence of the other tests would prove nothing."""
    broken = tmp_path / "broken.html"
    text = pages.plain.read_text(encoding="utf-8")
    faults = (
        '<img src="http://localhost:9/x.png"><p style="width: 900px; color: #ccc">pale and wide</p>'
        "<script>document.title = 'ran'</script>"
    )
    broken.write_text(text.replace("<main>", f"<main>{faults}"), encoding="utf-8")
    phone.show(broken, 360)
    said = phone.said()
    assert any("Content Security Policy" in line and "localhost:9" in line for line in said)
    assert any("inline script" in line for line in said)
    assert phone.driver.title == "Ada: wedge carries"
    assert phone.ask("return document.documentElement.scrollWidth") > 360
    assert {one["id"] for one in phone.judge(axe)} >= {"color-contrast", "image-alt"}
    free = tmp_path / "free.html"
    free.write_text(re.sub(r"<meta http-equiv[^>]*>", "", text).replace("<main>", f"<main>{faults}"), encoding="utf-8")
    phone.show(free, 360)
    assert phone.driver.title == "ran"
    assert "http://localhost:9/x.png" in phone.asked_for()
