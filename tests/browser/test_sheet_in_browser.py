"""The sheet in a real browser: one request, no scroll, light, dark, paper, scripts off, axe."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.window import Window
from tests.reports.invented_day import HOSTILE, at

pytestmark = pytest.mark.browser

LEAST_TARGET_PX = 24
DAYS = ["demo.html", "day.html", "us.html", "hostile.html"]
PAGES = [*DAYS, "fit.html"]


@pytest.mark.parametrize("page", PAGES)
def test_one_request_and_a_silent_console(window: Window, page: str) -> None:
    window.look(page)
    assert window.requests() == [f"{window.address}/{page}"]
    assert window.logs("browser") == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [320, 390, 900])
@pytest.mark.parametrize("page", PAGES)
def test_nothing_scrolls_sideways(window: Window, page: str, width: int, dark: bool) -> None:
    window.look(page, width=width, dark=dark)
    window.keep_shot(f"{page}-{width}-{'dark' if dark else 'light'}")
    assert window.ask("document.documentElement.scrollWidth") == width
    assert window.ask("window.innerWidth") == width
    wide = window.ask(
        "[...document.querySelectorAll('main *')].filter(e => !e.closest('.wide, svg, details')"
        " && e.getBoundingClientRect().right > innerWidth + 1).map(e => e.outerHTML.slice(0, 90))"
    )
    assert wide == []


def test_dark_is_dark_and_pictures_follow(window: Window) -> None:
    def colours(dark: bool) -> list[str]:
        window.look(dark=dark)
        return [
            window.ask("getComputedStyle(document.body).backgroundColor"),
            window.ask("getComputedStyle(document.querySelector('.plot text')).fill"),
        ]

    light, dark = colours(False), colours(True)
    assert light[0] == "rgb(255, 255, 255)"
    assert all(a != b for a, b in zip(light, dark, strict=True))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("page", DAYS)
def test_the_whole_day_prints_on_two_pages(window: Window, page: str, paper: str) -> None:
    window.look(page, dark=True)
    assert window.pages_on(paper) == 2


def test_paper_is_white_though_the_phone_is_dark(window: Window) -> None:
    window.look(dark=True, width=740)
    scheme = {"name": "prefers-color-scheme", "value": "dark"}
    window.send("Emulation.setEmulatedMedia", media="print", features=[scheme])
    window.keep_shot("print")
    assert window.ask("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert window.ask("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"


def test_everything_is_said_with_scripts_off(window: Window) -> None:
    words = "[...document.querySelectorAll('main section')].map(s => s.id + ' ' + s.textContent)"
    window.look(scripts=True)
    with_scripts = window.ask(words)
    window.look(scripts=False)
    window.keep_shot("scripts-off")
    assert window.ask("document.querySelector('.tools')") is None
    assert window.ask(words) == with_scripts
    assert window.ask("document.querySelector('#now time').textContent") == "09:30"


def test_the_script_marks_now_and_the_next_thing(window: Window) -> None:
    window.look(now_s=at(13.4))
    assert window.ask("document.querySelector('#now').textContent").startswith("13:30")
    marked = window.ask(
        "[...document.querySelectorAll('.is-now')].map(e => e.querySelector('time, b').textContent)"
    )
    assert "13:15" in marked
    assert window.ask("document.querySelectorAll('#pull [aria-current=time]').length") == 1
    window.look(now_s=at(24 * 40))
    assert window.ask("document.querySelector('#now time').textContent") == "09:30"
    assert window.ask("document.querySelectorAll('.is-now').length") == 0


def test_a_ticket_is_found_by_typing(window: Window) -> None:
    window.look()
    field = window.chrome.find_element("css selector", ".tools input")
    field.send_keys("31")
    shown = window.ask(
        "[...document.querySelector('#tickets tbody').rows].filter(r => !r.hidden)"
        ".map(r => r.querySelector('th').textContent)"
    )
    assert shown == ["31"]


def test_the_keyboard_reaches_all_that_moves(window: Window) -> None:
    from selenium.webdriver import ActionChains, Keys

    window.look(width=320)
    reached: set[str] = set()
    for _ in range(40):
        ActionChains(window.chrome).send_keys(Keys.TAB).perform()
        reached.add(window.ask("document.activeElement.tagName"))
    assert {"INPUT", "SUMMARY", "DIV"} <= reached
    box = window.chrome.find_element("css selector", ".ticks input")
    box.send_keys(" ")
    assert box.is_selected()
    outline = window.ask("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"


def test_targets_are_large_enough_for_wet_hands(window: Window) -> None:
    window.look(width=320)
    small = window.ask(
        "[...document.querySelectorAll('summary, label, .tools input, button, a')]"
        ".map(e => e.getBoundingClientRect()).filter(r => r.height < 44 || r.width < 44).length"
    )
    assert small == 0
    boxes = window.ask(
        "[...document.querySelectorAll('input[type=checkbox]')]"
        ".map(e => e.getBoundingClientRect().height)"
    )
    assert min(boxes) >= LEAST_TARGET_PX


def test_hostile_names_are_only_words(window: Window) -> None:
    window.look("hostile.html")
    assert window.ask("document.querySelectorAll('script').length") == 1
    shown = HOSTILE.replace("\u202e", " ")  # a sign that would turn our own words around
    assert window.ask("document.querySelector('h1').textContent") == shown
    assert window.ask("document.querySelector('h1 bdi') !== null")
    assert window.ask("document.querySelectorAll('iframe, object, embed, img').length") == 0


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("page", ["demo.html", "day.html", "hostile.html", "fit.html"])
def test_axe_finds_nothing_serious(window: Window, axe: str, page: str, dark: bool) -> None:
    window.look(page, dark=dark, now_s=at(11.3))
    window.chrome.execute_script(axe)
    found: dict[str, Any] = window.chrome.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "axe.run(document, {resultTypes: ['violations'], rules: {"
        "'color-contrast-enhanced': {enabled: true}, 'target-size': {enabled: true}}})"
        ".then(done, error => done({error: String(error)}));"
    )
    assert "error" not in found, found
    said = [
        (rule["id"], rule["impact"], [node["html"][:120] for node in rule["nodes"][:3]])
        for rule in found["violations"]
    ]
    assert said == []
