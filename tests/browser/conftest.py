"""A headless Chromium, and the sheets that it opens from a server on this machine."""

from __future__ import annotations

import functools
import http.server
import os
import shutil
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser.window import Window
from tests.cli.noted_days import NOW_S, write_event, write_notes
from tests.reports.invented_day import HOSTILE, crowded_day, touch_dry_day, whole_day

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--disable-extensions", "--hide-scrollbars", "--disable-dev-shm-usage"),
)
REQUIRED = os.environ.get("DRYBOX_BROWSER_TESTS") == "required"


def missing(what: str) -> None:
    """Skip for want of a program, or fail where the run promised to bring it."""
    if REQUIRED:
        pytest.fail(f"{what} is missing, and DRYBOX_BROWSER_TESTS says it is required")
    pytest.skip(f"{what} is not on this machine")


def program(*names: str) -> str:
    for name in names:
        path = shutil.which(name)
        if path:
            return path
    missing(names[0])
    raise AssertionError


@pytest.fixture(scope="session")
def axe() -> str:
    """The source of axe-core, from DRYBOX_AXE or a node_modules folder beside the project."""
    root = Path(__file__).resolve().parents[2]
    places = [Path(os.environ["DRYBOX_AXE"])] if os.environ.get("DRYBOX_AXE") else []
    places.append(root / "node_modules" / "axe-core" / "axe.min.js")
    for place in places:
        if place.is_file():
            return place.read_text(encoding="utf-8")
    missing("axe-core (DRYBOX_AXE)")
    raise AssertionError


@pytest.fixture(scope="session")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, str]]:
    """A folder of sheets and the address it is served at."""
    from drybox.cli import main
    from drybox.reports.sheet.page import render_sheet

    folder = tmp_path_factory.mktemp("sheets")
    demo = Path(__file__).resolve().parents[2] / "data" / "demo" / "fair.toml"
    assert main(["plan", str(demo), "--no-what-if", "--sheet", str(folder / "demo.html")]) == 0
    for name, page in (
        ("day", render_sheet(whole_day(), title="Early summer fair")),
        ("us", render_sheet(whole_day(), title="Early summer fair", units="us")),
        ("touch", render_sheet(touch_dry_day(), title="Early summer fair")),
        ("crowded", render_sheet(crowded_day(), title="Early summer fair")),
        ("hostile", render_sheet(whole_day(HOSTILE), title=HOSTILE)),
    ):
        (folder / f"{name}.html").write_text(page, encoding="utf-8")
    write_fit_sheet(folder)

    class Quiet(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *_: object) -> None:
            """Keep the test run's own output clean."""

    server = http.server.ThreadingHTTPServer(
        ("127.0.0.1", 0), functools.partial(Quiet, directory=str(folder))
    )
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield folder, f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


def write_fit_sheet(folder: Path) -> None:
    """Write the sheet of a calibration by two days of notes."""
    from drybox.cli import main

    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DRYBOX_NOTES", str(folder / "notes.sqlite"))
        patch.setattr("drybox.cli.note.time.time", lambda: NOW_S)
        event = write_event(folder)
        write_notes(event)
        assert main(["calibrate", str(event), "--sheet", str(folder / "fit.html")]) == 0


@pytest.fixture(scope="session")
def window(site: tuple[Path, str], tmp_path_factory: pytest.TempPathFactory) -> Iterator[Window]:
    """A browser window on the sheets."""
    browser, driver = program("chromium", "chromium-browser"), program("chromedriver")
    from selenium import webdriver
    from selenium.webdriver.chrome.options import Options
    from selenium.webdriver.chrome.service import Service

    options = Options()
    options.binary_location = browser
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
    chrome = webdriver.Chrome(options=options, service=Service(driver))
    chrome.set_script_timeout(60)
    try:
        yield Window(chrome, site[1], tmp_path_factory.mktemp("screenshots"))
    finally:
        chrome.quit()
