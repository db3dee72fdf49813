"""The pocket page: prints laid on by tapping, counted down, and brought home as field notes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from drybox.cli import main
from drybox.inputs.notes.csv_file import notes_from_csv
from drybox.inputs.notes.store import NoteStore
from tests.browser.test_sheet_in_browser import axe_findings
from tests.browser.window import Window
from tests.reports.invented_day import HOSTILE, at, lookups

pytestmark = [pytest.mark.browser, pytest.mark.slow]

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo" / "fair.toml"


def card(ticket: str, part: str = "") -> str:
    """Return the expression of a ticket's card, or of a part of it."""
    inside = f".querySelector({json.dumps(part)})" if part else ""
    wanted = f"e.querySelector('.no').textContent === {json.dumps(ticket)}"
    return f"[...document.querySelectorAll('.card')].find(e => {wanted}){inside}"


def tap(window: Window, ticket: str, times: int = 1) -> None:
    """Tap a ticket's next step, a second apart, as a hand does."""
    for _ in range(times):
        window.pass_time(1)
        window.ask(f"{card(ticket, '.step')}.click()")


def press(window: Window, name: str) -> None:
    window.ask(f"document.getElementById({json.dumps(name)}).click()")


def said(window: Window, ticket: str, part: str) -> str:
    return str(window.ask(f"{card(ticket, part)}.textContent"))


def heard(window: Window) -> str:
    return str(window.ask("document.getElementById('heard').textContent"))


def shown(window: Window) -> list[str]:
    """Return the tickets in the list, in their order."""
    found: list[str] = window.ask(
        "[...document.querySelectorAll('.card')].filter(e => !e.hidden)"
        ".map(e => e.querySelector('.no').textContent)"
    )
    return found


def csv_of(window: Window) -> str:
    return str(window.ask("document.getElementById('csv').value"))


@pytest.mark.parametrize("clock", ["11:00", "11:20"])
def test_look_and_pull_are_those_of_dry_to_the_minute(
    window: Window, capsys: pytest.CaptureFixture[str], clock: str
) -> None:
    """On a quarter hour, and between two; through the sheet of `plan` and through `dry`."""
    hours, minutes = map(int, clock.split(":"))
    window.look("demo.html", now_at=at(hours + minutes / 60) - 2.0)
    tap(window, "1", 2)
    words = heard(window)
    assert words.startswith(f"Ticket 1: laid on {clock}. look ")
    capsys.readouterr()
    asked = ["dry", str(DEMO), "--at", clock, "--ways", "sun plate", "--format", "json"]
    assert main(asked) == 0
    result = json.loads(capsys.readouterr().out)["result"]
    (way,) = (row for row in result["ways"] if row["way"] == "sun_plate")
    for name, before in (("p10", "look "), ("p50", "pull "), ("p90", "nine in ten by ")):
        told = words.split(before)[1][:5]
        known = way["dry_at"][name][11:16]
        apart = abs(_minute(told) - _minute(known))
        assert apart <= 1, (name, told, known)


def _minute(clock: str) -> int:
    return 60 * int(clock[:2]) + int(clock[3:])


def test_a_print_laid_on_is_counted_down_and_rings(window: Window) -> None:
    window.look(now_at=at(11.0) - 2)
    press(window, "ring")
    assert window.ask("document.getElementById('ring').getAttribute('aria-pressed')") == "true"
    assert "while this page is open" in heard(window)
    tap(window, "1", 2)
    rows = lookups().result["skies"][0]["loads"]
    (row,) = (row for row in rows if row["laid_on_at"] == at(11.0))
    look, pull = (60 * row["minutes"][p] for p in ("p10", "p50"))
    assert said(window, "1", ".due") == f"look in {int(look // 60)}:{round(look % 60):02}"
    window.pass_time(30)
    assert said(window, "1", ".due") == f"look in {int((look - 30) // 60)}:{round(look % 30):02}"
    assert window.ask("simulated.tones") == 0
    window.pass_time(look - 29)
    assert heard(window) == "Ticket 1: look at it now."
    assert window.ask("simulated.tones") == 3
    assert window.ask("simulated.shaken") == 1
    assert said(window, "1", ".due").startswith("look now, pull in ")
    window.pass_time(pull - look)
    assert heard(window) == "Ticket 1: pull it now."
    assert said(window, "1", ".due") == "pull now"
    tap(window, "1")
    assert said(window, "1", ".due").startswith("under flat weight until ")
    window.pass_time(7200)
    assert window.ask("simulated.tones") == 6


def test_nothing_rings_unless_it_is_asked_for(window: Window) -> None:
    window.look(now_at=at(11.0) - 2)
    tap(window, "1", 2)
    window.pass_time(1800)
    assert heard(window) == "Ticket 1: pull it now."
    assert (window.ask("simulated.tones"), window.ask("simulated.shaken")) == (0, 0)


def test_the_sky_and_the_thermometer_given_count(window: Window) -> None:
    window.look(now_at=at(11.0) - 4)
    window.ask(
        "const s = document.getElementById('sky'); s.value = 'overcast';"
        "s.dispatchEvent(new Event('change'))"
    )
    tap(window, "1", 2)
    assert "(overcast)" in heard(window)
    window.ask("document.getElementById('plate').value = '45'")
    window.ask("document.getElementById('damp').value = '50'")
    press(window, "take-reading")
    window.pass_time(2)
    tap(window, "2", 2)
    assert "(plate 45 °C)" in heard(window)
    pairs = lookups().result["thermometer"]
    (pair,) = (p for p in pairs if (p["plate_temp_c"], p["humidity_frac"]) == (45.0, 0.5))
    laid = window.ask("simulated.ms") / 1000
    pull = int((laid + 60 * pair["minutes"]["p50"] - at(0)) / 60 + 0.5)
    assert f"pull {pull // 60:02}:{pull % 60:02}" in heard(window)
    window.pass_time(21 * 60)  # the reading is old now
    tap(window, "3", 2)
    assert "(overcast)" in heard(window)


def test_late_promises_come_first_and_those_that_are_gone_last(window: Window) -> None:
    window.look(now_at=at(10.0))
    assert shown(window)[:2] == ["1", "2"]
    for ticket in ("1", "2", "3"):
        tap(window, ticket)
    tap(window, "1")
    window.pass_time(4500)
    tap(window, "3", 2)
    assert shown(window)[:2] == ["1", "2"]
    assert said(window, "1", ".by").startswith("▲ late: promised 11:15")
    tap(window, "1", 2)
    assert "1" not in shown(window)
    press(window, "all-tickets")
    assert shown(window)[-1] == "1"
    assert said(window, "1", ".due").startswith("handed over ")


def test_what_is_tapped_is_kept_and_can_be_taken_back(window: Window) -> None:
    window.look(now_at=at(11.0))
    tap(window, "1", 2)
    press(window, "earlier")
    assert heard(window).startswith("Ticket 1: laid on 10:55")
    tap(window, "2", 2)
    press(window, "take-back")
    assert heard(window) == "Taken back."
    window.look(now_at=at(11.1), anew=False)
    assert said(window, "1", ".step") == "Dry"
    assert said(window, "2", ".step") == "Laid on"
    assert "10:55" not in said(window, "2", ".due")


def test_a_second_tap_too_soon_does_nothing(window: Window) -> None:
    window.look(now_at=at(11.0))
    window.pass_time(1)
    window.ask(f"{card('6', '.step')}.click(); {card('5', '.step')}.click()")
    assert csv_of(window).count(",sat,") == 1


def taken_home(window: Window, folder: Path) -> Path:
    """Save the notes as the page offers them, and return the file."""
    window.send("Browser.setDownloadBehavior", behavior="allow", downloadPath=str(folder))
    press(window, "save")
    from selenium.webdriver.support.ui import WebDriverWait

    WebDriverWait(window.chrome, 20).until(lambda _: list(folder.glob("notes-*.csv")))
    (path,) = folder.glob("notes-*.csv")
    return path


def test_notes_go_home_once(
    window: Window, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    window.look("demo.html", now_at=at(11.0) - 4)
    tap(window, "1", 2)
    window.ask("document.getElementById('plate').value = '46,5'")
    press(window, "take-reading")
    window.pass_time(1)
    window.ask(
        "const s = document.getElementById('sky'); s.value = 'broken cloud';"
        "s.dispatchEvent(new Event('change'))"
    )
    window.pass_time(600)
    tap(window, "1", 2)
    tap(window, "2")
    press(window, "take-back")
    path = taken_home(window, tmp_path)
    assert path.name == "notes-2027-06-12.csv"
    assert path.read_text(encoding="utf-8") == csv_of(window)
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: at(20))
    assert main(["note", "import", str(path)]) == 0
    notes = NoteStore().read()
    kept = [(n.kind, n.ticket, n.way, n.sky) for n in notes]
    assert kept == [
        ("sat", "1", "", ""),
        ("laid", "1", "sun_plate", ""),
        ("plate", "", "", ""),
        ("sky", "", "", "broken cloud"),
        ("dry", "1", "", ""),
        ("handed", "1", "", ""),
    ]
    assert notes[1].at_s == at(11.0) - 2
    assert notes[2].temp_k == pytest.approx(46.5 + 273.15)
    about = {(n.event, n.place, n.box, n.paper, n.timezone) for n in notes}
    names = ("Early summer fair", "Market at Upper Larkmead", "default", "fibre double weight")
    assert about == {(*names, "Europe/Vienna")}
    everything = NoteStore().read(everything=True)
    assert main(["note", "import", str(path)]) == 0
    assert NoteStore().read(everything=True) == everything


def test_a_day_tapped_and_brought_home_is_planned_on(
    window: Window,
    site: tuple[Path, str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Laid on by tapping, exported, imported, planned on: the new sheet has the same print."""
    window.look("demo.html", now_at=at(11.0) - 2)
    tap(window, "1", 2)
    press(window, "sun")
    assert window.ask("document.getElementById('sun').textContent") == "Sun back on the box"
    window.pass_time(240)
    press(window, "sun")
    assert "▲ later: no sun for 4 min of it" in said(window, "1", ".times")
    tap(window, "2")
    window.pass_time(600)
    window.pass_time(1)
    window.ask(f"{card('1', '.also')}.click()")
    laid_at, touch_at = at(11.0), window.ask("simulated.ms") / 1000
    path = taken_home(window, tmp_path)
    monkeypatch.setenv("DRYBOX_NOTES", str(tmp_path / "notes.sqlite"))
    monkeypatch.setattr("drybox.cli.note.time.time", lambda: at(20))
    assert main(["note", "import", str(path)]) == 0
    assert [(n.kind, n.ticket, n.state) for n in NoteStore().read()] == [
        ("sat", "1", ""),
        ("laid", "1", ""),
        ("sun", "", "gone"),
        ("sun", "", "back"),
        ("sat", "2", ""),
        ("touch", "1", ""),
    ]
    sheet = site[0] / "later.html"
    capsys.readouterr()
    asked = ["plan", str(DEMO), "--now", "11:16", "--no-what-if", "--format", "json"]
    assert main([*asked, "--sheet", str(sheet)]) == 0
    rows = json.loads(capsys.readouterr().out)["result"]["sitters"]
    first = next(row for row in rows if row["ticket"] == "1")
    assert first["stage"] == "touch"
    assert _minute(first["laid_on_at"][11:16]) == 660
    assert abs(_minute(first["touch_dry_at"]["p50"][11:16]) - (touch_at - at(0)) / 60) <= 1
    window.look("later.html", now_at=at(11.27), anew=False)
    tickets = json.loads(
        window.ask("document.getElementById('tickets').getAttribute('data-pocket')")
    )["tickets"]
    one, two = (next(t for t in tickets if t["ticket"] == number) for number in "12")
    assert one["on"] == laid_at
    assert abs(two["sits"] - at(11.0) - 242) <= 60
    promise = first["promise_at"][11:16]
    assert promise in said(window, "1", ".by")
    assert said(window, "1", ".step") == "Dry"
    words = said(window, "1", ".times")
    for name, before in (("p10", "look "), ("p50", "pull "), ("p90", "nine in ten by ")):
        known = _minute(first["dry_at"][name][11:16])
        assert abs(_minute(words.split(before)[1][:5]) - known) <= 1
    assert "no sun" not in words
    window.look("later.html", now_at=at(11.27))  # a phone that kept nothing
    assert [said(window, ticket, ".step") for ticket in "123"] == ["Dry", "Laid on", "Sat"]
    assert said(window, "1", ".times") == words
    assert promise in said(window, "1", ".by")
    assert csv_of(window).count("\n") == 1  # what is at home is not brought home again
    window.pass_time(1)
    buttons = f"[...{card('2', '.others')}.querySelectorAll('button')]"
    window.ask(f"{buttons}.find(b => b.textContent.startsWith('Take back sat')).click()")
    assert said(window, "2", ".step") == "Sat"
    path = tmp_path / "undone.csv"
    path.write_text(csv_of(window), "utf-8")
    assert main(["note", "import", str(path)]) == 0
    assert [n.ticket for n in NoteStore().read() if n.kind == "sat"] == ["1"]


def test_a_print_promised_touch_dry_goes_when_it_is(window: Window) -> None:
    window.look("touch.html", now_at=at(11.0) - 2)
    tap(window, "1", 2)
    assert said(window, "1", ".step") == "Touch dry"
    window.pass_time(600)
    tap(window, "1")
    assert said(window, "1", ".due") == "touch dry: to go, open between blotters"
    assert said(window, "1", ".step") == "Handed over"
    assert said(window, "1", ".also") == "Dry"
    window.keep_shot("touch-dry")
    tap(window, "1")
    notes = notes_from_csv(csv_of(window), "notes.csv", at(20))
    assert [note.kind for note in notes] == ["sat", "laid", "touch", "handed"]


def test_a_print_laid_on_without_sun_goes_by_the_darkest_sky(window: Window) -> None:
    window.look(now_at=at(11.0) - 3)
    window.pass_time(1)
    press(window, "sun")
    assert "No sun on the box since" in window.ask("document.getElementById('pocket').textContent")
    tap(window, "1", 2)
    assert "(sun gone, as overcast)" in said(window, "1", ".times")
    press(window, "take-back")
    assert said(window, "1", ".step") == "Laid on"


def test_hostile_names_come_home_as_words(window: Window) -> None:
    window.look("hostile.html", now_at=at(11.0) - 2)
    tap(window, "2", 2)
    assert said(window, "2", ".who") == HOSTILE.replace("\u202e", " ")
    assert window.ask("document.querySelectorAll('#tickets script, #tickets img').length") == 0
    notes = notes_from_csv(csv_of(window), "notes.csv", at(20))
    assert [note.kind for note in notes] == ["sat", "laid"]
    assert notes[0].event == " ".join(HOSTILE.replace("\u202e", " ").split(" "))


def test_without_storage_it_says_so_and_offers_the_text(window: Window) -> None:
    window.look(now_at=at(11.0) - 2, keeps=False)
    assert "can keep nothing here" in window.ask("document.querySelector('#nowhere').textContent")
    assert window.ask("document.querySelector('#nowhere').checkVisibility()")
    tap(window, "1", 2)
    assert window.ask("document.getElementById('copy-now').checkVisibility()")
    notes = notes_from_csv(csv_of(window), "notes.csv", at(20))
    assert [(note.kind, note.ticket) for note in notes] == [("sat", "1"), ("laid", "1")]
    assert said(window, "1", ".due").startswith("look in ")
    window.keep_shot("no-storage")


def test_it_works_from_a_file_opened_by_tap(window: Window, site: tuple[Path, str]) -> None:
    served, window.address = window.address, site[0].as_uri()
    try:
        window.look(now_at=at(11.0) - 2, anew=False)
        tap(window, "1", 2)
        assert said(window, "1", ".due").startswith("look in ")
        asked = [address for address in window.requests() if address != "about:blank"]
        assert asked == [f"{window.address}/day.html"]
        assert window.logs("browser") == []
        window.ask("window.confirm = () => true")
        press(window, "forget")
        assert csv_of(window).count("\n") == 1
    finally:
        window.address = served


def test_one_thumb_reaches_what_follows_a_tap(window: Window) -> None:
    window.look(now_at=at(11.0) - 2)
    tap(window, "1", 2)
    tops = window.ask(
        "['earlier', 'take-back'].map(id => document.getElementById(id).getBoundingClientRect())"
        ".map(r => [r.top, r.height])"
    )
    assert all(top > 844 * 0.6 and height >= 44 for top, height in tops)
    right = window.ask(f"{card('1', '.step')}.getBoundingClientRect().right")
    assert right > 390 / 2


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("page", ["demo.html", "hostile.html"])
def test_axe_finds_nothing_on_the_page_in_use(
    window: Window, axe: str, page: str, dark: bool
) -> None:
    window.look(page, dark=dark, now_at=at(11.0) - 8)
    tap(window, "1", 2)
    tap(window, "2", 3)
    tap(window, "3")
    window.pass_time(900)
    window.keep_shot(f"pocket-{page}-{'dark' if dark else 'light'}")
    assert axe_findings(window, axe) == []
    width: Any = window.ask("document.documentElement.scrollWidth")
    assert width == 390


def test_a_print_promised_touch_dry_is_not_late_for_being_dry(window: Window) -> None:
    """It may go before it is flat: touch dry was the promise."""
    window.look("touch.html", now_at=at(11.0) - 2)
    tap(window, "1", 2)
    assert said(window, "1", ".also") == "Dry"
    window.pass_time(60 * 5)
    window.pass_time(1)
    window.ask(f"{card('1', '.also')}.click()")
    assert "dry 11:05" in heard(window)
    assert "late" not in said(window, "1", ".by")
    assert "or to go open, between blotters" in said(window, "1", ".due")


def test_a_print_promised_damp_is_not_late_for_being_damp(window: Window) -> None:
    """Ticket 21 goes damp at 16:15, dry or not."""
    window.look(now_at=at(16.0))
    tap(window, "21")
    assert said(window, "21", ".by").startswith("promise 16:15 damp")
    window.pass_time(60 * 20)
    assert said(window, "21", ".by").endswith("late: promised 16:15 damp")
