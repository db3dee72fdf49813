"""The sheet in a real browser: one request, no scroll, light, dark, paper, scripts off, axe."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.window import Window
from tests.reports.invented_day import HOSTILE, at

pytestmark = [pytest.mark.browser, pytest.mark.slow]

LEAST_TARGET_PX = 24
DAYS = ["demo.html", "day.html", "us.html", "hostile.html"]
PAGES = [*DAYS, "fit.html"]


@pytest.mark.parametrize("page", PAGES)
def test_one_request_and_a_silent_console(window: Window, page: str) -> None:
    window.look(page)
    asked = [address for address in window.requests() if address != "about:blank"]
    assert asked == [f"{window.address}/{page}"]
    assert window.logs("browser") == []


@pytest.mark.parametrize(("width", "dark"), [(320, False), (390, False), (390, True), (900, False)])
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
            window.ask("getComputedStyle(document.querySelector('.chart text')).fill"),
        ]

    light, dark = colours(False), colours(True)
    assert light[0] == "rgb(255, 255, 255)"
    assert all(a != b for a, b in zip(light, dark, strict=True))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("page", DAYS)
def test_the_whole_day_prints_on_two_pages(window: Window, page: str, paper: str) -> None:
    window.look(page, dark=True, now_at=at(13.4))
    assert window.pages_on(paper) == 2


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_more_tickets_than_a_page_takes_go_on_with_none_lost(window: Window, paper: str) -> None:
    window.look("crowded.html", width=733)
    assert window.pages_on(paper) == 3
    window.send("Emulation.setEmulatedMedia", media="print")
    heads = window.ask("[...document.querySelectorAll('#to-write h2')].map(h => h.textContent)")
    assert [head.split(": ")[1][:11] for head in heads] == ["page 1 of 2", "page 2 of 2"]
    for part in ("tbody th", ".stub b:first-child"):
        found = f"[...document.querySelectorAll('#to-write tbody {part}')].map(e => e.innerText)"
        assert window.ask(found.replace("tbody tbody", "tbody")) == [str(n) for n in range(1, 61)]
    assert window.smallest_letters("#to-write") >= 8 / 0.75 - 0.01


@pytest.mark.parametrize("page", DAYS)
def test_the_evening_before_is_a_page_of_its_own(window: Window, page: str) -> None:
    seen = "[...document.querySelectorAll('main > section')].filter(s => s.checkVisibility())"
    window.look(f"{page}#evening")
    assert window.ask(f"{seen}.map(s => s.id)") == ["evening"]
    assert window.pages_on("A4") <= 2
    window.look(page)
    assert "evening" not in window.ask(f"{seen}.map(s => s.id)")


@pytest.mark.parametrize("page", DAYS)
def test_letters_on_paper_are_of_eight_points_or_more(window: Window, page: str) -> None:
    window.look(page, width=733)  # A4 without its margins
    window.send("Emulation.setEmulatedMedia", media="print")
    assert window.smallest_letters("body") >= 8 / 0.75 - 0.01


@pytest.mark.parametrize("width", [320, 390, 900])
@pytest.mark.parametrize("page", PAGES)
def test_letters_are_of_twelve_pixels_or_more(window: Window, page: str, width: int) -> None:
    window.look(page, width=width, now_at=at(11.3))
    window.ask("document.querySelectorAll('.folded').forEach(s => s.classList.remove('folded'))")
    assert window.smallest_letters("body") >= 12.0


@pytest.mark.parametrize("page", ["day.html", "demo.html"])
def test_what_is_read_at_the_box_is_of_sixteen_pixels(window: Window, page: str) -> None:
    window.look(page, now_at=at(11.3))
    window.ask("document.querySelectorAll('.folded').forEach(s => s.classList.remove('folded'))")
    for part in ("#next", "#cards", "#pull table", ".turns", "#thermometer table"):
        assert window.smallest_letters(part) >= 15.99, part


def test_the_first_screen_answers_now(window: Window) -> None:
    window.look(now_at=at(11.3))
    low = window.ask("document.querySelector('.facts').getBoundingClientRect().bottom")
    assert low <= 844
    order = "[...document.querySelectorAll('main > section')].map(s => s.id)"
    assert window.ask(order)[:3] == ["next", "tickets", "pull"]
    shown = window.ask(
        "[...document.querySelectorAll('#pull tbody tr')].filter(r => r.checkVisibility()).length"
    )
    assert 1 <= shown <= 5


def test_parts_fold_and_open_by_their_headings(window: Window) -> None:
    window.look()
    button = window.chrome.find_element("css selector", "#aim h2 button")
    assert button.get_attribute("aria-expanded") == "false"
    assert not window.ask("document.querySelector('.turns').checkVisibility()")
    button.click()
    assert button.get_attribute("aria-expanded") == "true"
    assert window.ask("document.querySelector('.turns').checkVisibility()")


def test_paper_is_white_though_the_phone_is_dark(window: Window) -> None:
    window.look(dark=True, width=740)
    scheme = {"name": "prefers-color-scheme", "value": "dark"}
    window.send("Emulation.setEmulatedMedia", media="print", features=[scheme])
    window.keep_shot("print")
    assert window.ask("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert window.ask("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"


def test_everything_is_said_with_scripts_off(window: Window) -> None:
    ids = "[...document.querySelectorAll('main section')].map(s => s.id)"
    cells = "[...document.querySelectorAll('td, th, .facts, .steps')].map(s => s.textContent)"
    window.look(scripts=True)
    with_scripts = window.ask(ids), window.ask(cells)
    window.look(scripts=False)
    window.keep_shot("scripts-off")
    assert (window.ask(ids), window.ask(cells)) == with_scripts
    assert not window.ask("document.querySelector('#pocket').checkVisibility()")
    assert window.ask("document.querySelector('#tickets table').checkVisibility()")
    shown = "[...document.querySelectorAll('.turns, #pull tr, #sources')]"
    assert window.ask(f"{shown}.every(e => e.checkVisibility())")
    assert window.ask("document.querySelector('#now time').textContent") == "09:30"


def test_the_script_marks_now_and_the_next_thing(window: Window) -> None:
    window.look(now_at=at(13.4))
    assert window.ask("document.querySelector('#now').textContent").startswith("13:30")
    marked = window.ask(
        "[...document.querySelectorAll('.is-now')].map(e => e.querySelector('time, b').textContent)"
    )
    assert "13:15" in marked
    assert window.ask("document.querySelectorAll('#pull [aria-current=time]').length") == 1
    window.look(now_at=at(24 * 40))
    assert window.ask("document.querySelector('#now time').textContent") == "09:30"
    assert window.ask("document.querySelectorAll('.is-now').length") == 0


def test_a_ticket_is_found_by_typing(window: Window) -> None:
    window.look(now_at=at(11.3))
    window.chrome.find_element("css selector", "#find").send_keys("31")
    shown = window.ask(
        "[...document.querySelectorAll('.card')].filter(r => !r.hidden)"
        ".map(r => r.querySelector('.no').textContent)"
    )
    assert shown == ["31"]


def test_the_keyboard_reaches_all_that_moves(window: Window) -> None:
    from selenium.webdriver import ActionChains, Keys

    window.look(width=320)
    reached: set[str] = set()
    for _ in range(60):
        ActionChains(window.chrome).send_keys(Keys.TAB).perform()
        reached.add(window.ask("document.activeElement.tagName"))
    assert {"INPUT", "SUMMARY", "BUTTON", "SELECT", "A"} <= reached
    window.look("day.html#evening")
    box = window.chrome.find_element("css selector", ".ticks input")
    box.send_keys(" ")
    assert box.is_selected()
    outline = window.ask("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"


def test_targets_are_large_enough_for_wet_hands(window: Window) -> None:
    window.look(width=320)
    small = window.ask(
        "[...document.querySelectorAll('summary, button, a, select, input')]"
        ".filter(e => e.checkVisibility()).map(e => e.getBoundingClientRect())"
        ".filter(r => r.height < 43.9 || r.width < 43.9).length"
    )
    assert small == 0
    window.look("day.html#evening", width=320)
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
    assert window.ask("document.querySelectorAll('h1 *, .facts *, .card *').length") > 0
    assert not window.ask("[...document.querySelectorAll('.facts script, .card script')].length")
    who = "[...document.querySelectorAll('.card .who')].map(e => e.textContent).join('')"
    assert window.ask(who) == shown


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("page", ["demo.html", "day.html", "hostile.html", "fit.html"])
def test_axe_finds_nothing_serious(window: Window, axe: str, page: str, dark: bool) -> None:
    window.look(page, dark=dark, now_at=at(11.3))
    assert axe_findings(window, axe) == []


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_axe_finds_nothing_in_the_evening_nor_unfolded(
    window: Window, axe: str, dark: bool
) -> None:
    window.look("day.html#evening", dark=dark)
    assert axe_findings(window, axe) == []
    window.look(dark=dark)
    for button in window.chrome.find_elements("css selector", "h2 button"):
        button.click()
    assert axe_findings(window, axe) == []


def axe_findings(window: Window, axe: str) -> list[Any]:
    """Return what axe finds on the page as it stands."""
    window.chrome.execute_script(axe)
    found: dict[str, Any] = window.chrome.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "axe.run(document, {resultTypes: ['violations'], rules: {"
        "'color-contrast-enhanced': {enabled: true}, 'target-size': {enabled: true}}})"
        ".then(done, error => done({error: String(error)}));"
    )
    assert "error" not in found, found
    return [
        (rule["id"], rule["impact"], [node["html"][:120] for node in rule["nodes"][:3]])
        for rule in found["violations"]
    ]


@pytest.mark.parametrize("width", [360, 375])
def test_ranges_side_by_side_on_a_narrow_phone_keep_a_gap(window: Window, width: int) -> None:
    """Two ranges that touch are read as one: 19–17617–39."""
    window.look("demo.html", width=width)
    window.ask(
        "document.querySelectorAll('#pull small').forEach(s => s.textContent = '105–\\u200b167')"
    )
    gaps = """
    [...document.querySelectorAll('#pull tbody tr')].flatMap(row => {
      const ends = [...row.querySelectorAll('small')].map(part => {
        const text = document.createRange();
        text.selectNodeContents(part);
        return text.getBoundingClientRect();
      }).filter(box => box.width);
      return ends.slice(1).map((box, n) => box.left - ends[n].right);
    })
    """
    found = window.ask(gaps)
    assert found
    assert min(found) >= 3.0


@pytest.mark.parametrize("width", [360, 390])
@pytest.mark.parametrize("page", ["demo.html", "demo.html#evening", "us.html#evening"])
def test_tables_fit_a_phone_but_that_of_the_thermometer(
    window: Window, page: str, width: int
) -> None:
    """Nothing is slid sideways to be read, but where the caption says so."""
    window.look(page, width=width)
    window.ask("document.querySelectorAll('.folded').forEach(s => s.classList.remove('folded'))")
    window.ask("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    slid = window.ask(
        "[...document.querySelectorAll('.wide')].filter(e => e.checkVisibility()"
        " && !e.querySelector('.hint') && e.scrollWidth > e.clientWidth)"
        ".map(e => [e.getAttribute('aria-label'), e.scrollWidth])"
    )
    assert slid == []
    assert window.ask("document.querySelectorAll('.wide').length") > 2
