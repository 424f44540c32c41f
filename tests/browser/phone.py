"""A real browser that shows a page, and everything that it can tell of it."""

import base64
import contextlib
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final, Literal

from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service

Theme = Literal["light", "dark"]
AXE_VERSION: Final = "4.14.1"
_FLAGS: Final = (
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-dev-shm-usage",
    "--disable-component-update", "--no-first-run", "--hide-scrollbars",
)  # fmt: skip
_HEIGHT: Final = 800


class NoBrowserError(AssertionError):
    """What the tests of the page need is not on this machine; they fail, because a page nobody saw is not tested."""


def program(name: str, package: str) -> str:
    """Return the path of a program, or say what to install."""
    found = shutil.which(name)
    if found is None:
        raise NoBrowserError(f"{name} is not installed; install it (Debian: apt-get install {package})")
    return found


def axe_script() -> str:
    """Return axe-core: from the folder of WEDGELAB_AXE, else fetched once into the machine's temporary folder."""
    home = Path(os.environ.get("WEDGELAB_AXE") or Path(tempfile.gettempdir()) / f"wedgelab-axe-{AXE_VERSION}")
    script = home / "node_modules" / "axe-core" / "axe.min.js"
    if not script.exists():
        _fetch_axe(home)
    return script.read_text(encoding="utf-8")


def _fetch_axe(home: Path) -> None:
    """Have npm install axe-core beside, and put it in its place whole: two test processes may want it at once."""
    home.parent.mkdir(parents=True, exist_ok=True)
    draft = Path(tempfile.mkdtemp(prefix=f"{home.name}-", dir=home.parent))
    try:
        subprocess.run(
            [
                program("npm", "npm"), "install", "--no-save", "--no-audit", "--no-fund", "--ignore-scripts",
                "--silent", "--prefix", str(draft), f"axe-core@{AXE_VERSION}",
            ],
            check=True, timeout=300,
        )  # fmt: skip
        with contextlib.suppress(OSError):  # the other process was first
            draft.rename(home)
    finally:
        shutil.rmtree(draft, ignore_errors=True)


class Phone:
    """A browser at some width and theme; what it said and asked for since the page was opened is kept."""

    def __init__(self, driver: Chrome) -> None:
        self.driver = driver

    def cdp(self, command: str, **words: Any) -> Any:
        """Send a command of the Chrome DevTools Protocol."""
        return self.driver.execute_cdp_cmd(command, words)

    def show(self, page: Path, width: int = 360, theme: Theme = "light", *, scripts: bool = True) -> None:
        """Open a page anew."""
        self.driver.get("about:blank")
        self.said(), self.asked_for()
        self.cdp("Emulation.setDeviceMetricsOverride", width=width, height=_HEIGHT, deviceScaleFactor=1, mobile=False)
        self.cdp("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": theme}])
        self.cdp("Emulation.setScriptExecutionDisabled", value=not scripts)
        self.driver.get(page.as_uri())

    def ask(self, script: str, *arguments: Any) -> Any:
        """Return what a script says in the page."""
        return self.driver.execute_script(script, *arguments)

    def said(self) -> list[str]:
        """Return and forget what stands in the console."""
        return [entry["message"] for entry in self.driver.get_log("browser")]  # type: ignore[no-untyped-call]  # selenium's

    def asked_for(self) -> list[str]:
        """Return and forget the addresses that were asked for."""
        events = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]  # type: ignore[no-untyped-call]  # selenium's
        return [event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"]

    def pdf(self) -> bytes:
        """Return the page as it is printed on A4."""
        return base64.b64decode(self.cdp("Page.printToPDF", paperWidth=8.27, paperHeight=11.69)["data"])

    def judge(self, axe: str) -> list[dict[str, Any]]:
        """Return what axe-core finds; the page's policy, which would keep axe out, is lifted for that."""
        self.cdp("Page.setBypassCSP", enabled=True)
        self.driver.refresh()
        self.ask(axe)
        found = self.driver.execute_async_script(
            "const done = arguments[0]; axe.run().then((r) => done(r.violations), (e) => done([{impact: String(e)}]));"
        )
        self.cdp("Page.setBypassCSP", enabled=False)
        result: list[dict[str, Any]] = found
        return result


@contextmanager
def open_phone() -> Iterator[Phone]:
    """Start the browser, and end it in any case."""
    options = ChromeOptions()
    options.binary_location = program("chromium", "chromium")
    for flag in _FLAGS:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = Chrome(options=options, service=Service(program("chromedriver", "chromium-driver")))
    try:
        driver.set_page_load_timeout(60)
        driver.set_script_timeout(60)
        yield Phone(driver)
    finally:
        driver.quit()
