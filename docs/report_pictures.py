"""Make the pictures of a card, a session sheet and a page: what `wedgelab report` writes for the demo's player.

Run ``python docs/report_pictures.py`` from the project's root after a change of one of them. It needs `pdftoppm` and
`chromium` (Debian: poppler-utils, chromium), which is why `docs/build.py` does not run it.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from PIL import Image

ROOT: Final = Path(__file__).resolve().parents[1]
EDGE: Final = "#8a8a8a"
GAP: Final = 24  # pixels
PHONE: Final = (390, 1500)


def main() -> None:
    """Write docs/card.png, docs/session.png and docs/page.png."""
    from wedgelab.cli.demo import PLAYER

    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        run("-m", "wedgelab", "demo", "--keep", str(folder / "demo"))
        base = ["-m", "wedgelab", "--db", str(folder / "demo" / "demo.db"), "--player", PLAYER, "report"]
        for file, *words in (
            ("pocket.pdf", "--spin"), ("credit.pdf", "--size", "credit"), ("session.pdf", "--session", "last"),
            ("page.html",),
        ):  # fmt: skip
            run(*base, str(folder / file), *words)
        made = {
            "card": [*pages(folder / "pocket.pdf", 110), below(pages(folder / "credit.pdf", 110))],
            "session": pages(folder / "session.pdf", 96),
            "page": [phone(folder / "page.html", dark=dark) for dark in (False, True)],
        }
        for name, pictures in made.items():
            beside(pictures).save(ROOT / f"docs/{name}.png", optimize=True)


def run(*words: str) -> None:
    """Run Python."""
    subprocess.run([sys.executable, *words], cwd=ROOT, check=True, capture_output=True)


def pages(pdf: Path, dpi: int) -> list[Image.Image]:
    """Return each page of a PDF as a picture."""
    subprocess.run(["pdftoppm", "-r", str(dpi), "-png", str(pdf), str(pdf.with_suffix(""))], check=True)
    return [Image.open(file) for file in sorted(pdf.parent.glob(f"{pdf.stem}-*.png"))]


def phone(page: Path, *, dark: bool) -> Image.Image:
    """Return the top of a page as a phone shows it."""
    shot = page.with_name(f"phone-{dark}.png")
    width, height = PHONE
    subprocess.run(
        [
            "chromium", "--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
            f"--window-size={max(width, 500)},{height}", *(["--force-dark-mode"] * dark),
            f"--blink-settings=preferredColorScheme={0 if dark else 1}", f"--screenshot={shot}", page.as_uri(),
        ],
        check=True, capture_output=True,
    )  # fmt: skip
    return Image.open(shot)


def beside(pictures: list[Image.Image]) -> Image.Image:
    """Put pictures next to each other on grey, so that the edges of paper are seen."""
    height = max(one.height for one in pictures) + 2 * GAP
    whole = Image.new("RGB", (sum(one.width + GAP for one in pictures) + GAP, height), EDGE)
    left = GAP
    for one in pictures:
        whole.paste(one.convert("RGB"), (left, GAP))
        left += one.width + GAP
    return whole


def below(pictures: list[Image.Image]) -> Image.Image:
    """Put pictures of one width below each other."""
    whole = Image.new("RGB", (pictures[0].width, sum(one.height + GAP for one in pictures) - GAP), EDGE)
    top = 0
    for one in pictures:
        whole.paste(one.convert("RGB"), (0, top))
        top += one.height + GAP
    return whole


if __name__ == "__main__":
    main()
