"""Kept fits: what comes back, what is refused, and that a stop leaves the old or the new one."""

from __future__ import annotations

import contextlib
import json
import os
import random
import signal
import sqlite3
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from drybox import MODEL_VERSION
from drybox.errors import InputError, StoreError
from drybox.inputs.event.event import Event, load_event
from drybox.inputs.event.place import Obstacle
from drybox.inputs.notes import database as field_note_file
from drybox.inputs.notes.fits import OWN, FitStore, KeptFit
from drybox.inputs.notes.fitted_event import fit_basis, use_fit, with_kept_fit
from drybox.inputs.notes.note import Note
from drybox.inputs.notes.store import NoteStore
from tests.inputs.notes.failing import done_within, on_a_full_disk

NOW_S = 1_781_435_700


def made(notes: int = 12, box: str = "default", paper: str = "rag", **more: object) -> KeptFit:
    draws = {name: np.linspace(-1, 1, 200) * (1 + k) / 7 + notes for k, name in enumerate(OWN)}
    basis = {"box.wall_depth_m": 0.06}
    values = {"timezone": "UTC", "sessions": 3, "draws": draws, "basis": basis} | more
    return KeptFit(box, paper, NOW_S, notes_used=notes, **values)  # type: ignore[arg-type]


def reading(at_s: int = NOW_S) -> Note:
    return Note(kind="plate", at_s=at_s, timezone="UTC", temp_k=319.15)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    NoteStore(tmp_path / "notes.sqlite").add([reading()])
    return tmp_path / "notes.sqlite"


def event(**more: str) -> Event:
    place = {"place.latitude": 47.2, "place.longitude": 12.3, "event.date": "2027-06-12"}
    return load_event(None, place | more)


def test_a_fit_comes_back_as_it_was_kept_to_six_digits(path: Path) -> None:
    tower = Obstacle("tower", 250.0, 262.5, 31.5)
    fit = made(place="Green", obstacles=(tower,))
    kept = FitStore(path).keep(fit)
    assert kept.id
    assert vars(replace(kept, id="", draws=fit.draws)) == vars(fit)
    for name in OWN:
        assert kept.draws[name] == pytest.approx(fit.draws[name], abs=5e-7)


def test_the_newest_fit_of_a_box_and_paper_counts_and_others_stay(path: Path) -> None:
    store = FitStore(path)
    for fit in (made(3), made(5, paper="resin"), made(9), made(4, box="big")):
        store.keep(fit)
    found = {(fit.box, fit.paper): fit.notes_used for fit in store.all()}
    assert found == {("default", "rag"): 9, ("default", "resin"): 5, ("big", "rag"): 4}
    assert store.forget("default", "rag", NOW_S)
    assert store.latest("default", "rag") is None
    assert not store.forget("default", "rag", NOW_S)
    store.keep(made(11))
    latest = store.latest("default", "rag")
    assert latest is not None
    assert latest.notes_used == 11


def test_rows_of_fits_can_be_neither_changed_nor_deleted(path: Path) -> None:
    FitStore(path).keep(made())
    connection = sqlite3.connect(path)
    for act in ("UPDATE fit SET body = ''", "DELETE FROM fit"):
        with pytest.raises(sqlite3.IntegrityError, match="only grow"):
            connection.execute(act)
    connection.close()


def without_fits(path: Path) -> None:
    """Make a store as it was before fits were kept."""
    connection = sqlite3.connect(path)
    connection.execute("DROP TABLE fit")
    connection.execute("DROP TABLE checksum")
    connection.execute("ALTER TABLE note DROP COLUMN promised_at_s")
    connection.execute("PRAGMA user_version = 1")
    connection.close()


def test_an_older_store_is_read_as_it_is_and_given_room_on_writing(path: Path) -> None:
    without_fits(path)
    before = path.read_bytes()
    assert FitStore(path).all() == []
    assert len(NoteStore(path).read()) == 1
    assert path.read_bytes() == before
    FitStore(path).keep(made())
    assert len(FitStore(path).all()) == 1
    assert len(NoteStore(path).read()) == 1


def test_a_note_in_an_older_store_gives_it_room_too(path: Path) -> None:
    without_fits(path)
    NoteStore(path).add([reading(NOW_S + 600)])
    assert FitStore(path).all() == []
    assert len(NoteStore(path).read()) == 2


def test_nothing_is_kept_where_there_are_no_notes(tmp_path: Path) -> None:
    store = FitStore(tmp_path / "none.sqlite")
    assert store.all() == []
    with pytest.raises(StoreError, match="there are no field notes"):
        store.keep(made())
    assert list(tmp_path.iterdir()) == []


def test_a_broken_fit_is_called_damage_and_the_notes_stay_readable(path: Path) -> None:
    connection = sqlite3.connect(path)
    row = ("abc", NOW_S, "default", "rag", '{"draws": 3}')
    connection.execute("INSERT INTO fit (id, made_s, box, paper, body) VALUES (?,?,?,?,?)", row)
    connection.commit()
    connection.close()
    with pytest.raises(StoreError, match="damaged: fit abc"):
        FitStore(path).all()
    assert len(NoteStore(path).read()) == 1


@pytest.mark.parametrize(
    "draws",
    [
        {name: np.zeros(3) for name in OWN[1:]},
        {name: np.zeros(3 + (name == "water_log")) for name in OWN},
        {name: np.full(3, np.nan if name == "line_log" else 0.0) for name in OWN},
    ],
)
def test_impossible_draws_make_no_fit(draws: dict[str, np.ndarray]) -> None:
    with pytest.raises(InputError, match="fit"):
        made(draws=draws)


def test_an_event_stands_on_its_fit_and_says_so() -> None:
    own = event()
    fit = made(paper=own.paper.name, basis=fit_basis(own.box, own.paper))
    fitted = use_fit(own, fit)
    assert fitted.fit is fit
    assert any(
        "stands on the fit of 2026-06-14, 12 notes of 3 days" in s for s in fitted.assumptions
    )
    sources = {item.key: item.source for item in fitted.resolved}
    assert sources["fit.water_factor"] == "fit of 2026-06-14, 12 notes"
    bare = use_fit(own, fit, calibrated=False)
    assert bare.fit is None
    assert any("is left out" in said for said in bare.assumptions)


@pytest.mark.parametrize(
    ("more", "what"),
    [
        ({"box.wall_depth": "10 cm"}, "box wall depth"),
        ({"paper.water": "drained"}, "paper water"),
        ({"box.cover": "acrylic"}, "cover"),
    ],
)
def test_a_fit_of_another_box_or_paper_is_not_used_and_that_is_said(
    more: dict[str, str], what: str
) -> None:
    own = event()
    fit = made(paper=own.paper.name, basis=fit_basis(own.box, own.paper))
    other = use_fit(event(**more), fit)
    assert other.fit is None
    assert any(f"is not used: it was made for another {what}. " in t for t in other.warnings)


def test_a_fit_of_another_model_is_not_used() -> None:
    own = event()
    basis = fit_basis(own.box, own.paper) | {"drybox.model": MODEL_VERSION - 1.0}
    other = use_fit(own, made(paper=own.paper.name, basis=basis))
    assert other.fit is None
    (said,) = [said for said in other.warnings if "is not used" in said]
    assert "reckons prints otherwise" in said
    assert "'drybox calibrate' with this event file makes it anew" in said


def test_a_fit_of_an_older_model_is_read_and_not_used_though_it_knows_fewer_quantities(
    path: Path,
) -> None:
    own, store = event(), FitStore(path)
    basis = fit_basis(own.box, own.paper) | {"drybox.model": MODEL_VERSION - 1.0}
    store.keep(made(paper=own.paper.name, basis=basis))
    (body,) = rows(path, "SELECT body FROM fit")
    said = json.loads(body)
    del said["draws"]["lifts_log"]
    older = "INSERT INTO fit (id, made_s, box, paper, body) SELECT 'old', made_s, box, paper, ?"
    rows(path, f"{older} FROM fit LIMIT 1", json.dumps(said))
    kept = store.latest("default", own.paper.name)
    assert kept is not None
    assert use_fit(own, kept).fit is None
    said["basis"]["drybox.model"] = MODEL_VERSION
    older = "INSERT INTO fit (id, made_s, box, paper, body) SELECT 'newer', made_s, box, paper, ?"
    rows(path, f"{older} FROM fit LIMIT 1", json.dumps(said))
    with pytest.raises(StoreError, match="lifts_log"):
        store.all()


def rows(path: Path, command: str, *values: str) -> list[str]:
    with contextlib.closing(sqlite3.connect(path)) as file, file:
        return [row[0] for row in file.execute(command, values)]


def test_a_fit_holds_for_another_aim_and_another_size_of_sheet() -> None:
    own = event()
    fit = made(paper=own.paper.name, basis=fit_basis(own.box, own.paper))
    turned = event(**{"box.bearing": "170 deg", "box.tilt": "40 deg", "paper.size": "5x7 in"})
    assert use_fit(turned, fit).fit is fit


def test_outlines_learned_at_a_place_stand_there_and_nowhere_else() -> None:
    own = event(**{"place.name": "Green"})
    taught = Obstacle("tower", 250.0, 262.5, 31.5)
    basis = fit_basis(own.box, own.paper)
    fit = made(paper=own.paper.name, basis=basis, place="Green", obstacles=(taught,))
    assert use_fit(own, fit).place.obstacles == (taught,)
    assert use_fit(event(**{"place.name": "Quay"}), fit).place.obstacles == ()
    told = replace(own, place=replace(own.place, obstacles=(replace(taught, elevation_deg=20.0),)))
    assert use_fit(told, fit).place.obstacles == (taught,)


def test_a_damaged_store_is_said_with_the_way_round_it(path: Path) -> None:
    path.write_text("not a store")
    with pytest.raises(StoreError, match="--uncalibrated does without"):
        with_kept_fit(event(), path=path)
    assert with_kept_fit(event(), calibrated=False, path=path).fit is None
    assert path.read_text() == "not a store"


# Keeps one fit after another and says which were kept.
WRITER = """
import sys
import numpy as np
from pathlib import Path
from drybox.inputs.notes.fits import OWN, FitStore, KeptFit
store = FitStore(Path(sys.argv[1]))
for number in range(1, 10_000):
    draws = {name: np.full(200, float(number)) for name in OWN}
    store.keep(KeptFit("default", "rag", 1_781_435_700, "UTC", number, 3, draws))
    print(number, flush=True)
"""


def whole(path: Path) -> int:
    """Return the number of the fit in force, 0 for none; it must hold together."""
    fit = FitStore(path).latest("default", "rag")
    assert len(NoteStore(path).read()) == 1
    if fit is None:
        return 0
    assert all((draws == fit.notes_used).all() for draws in fit.draws.values())
    return fit.notes_used


def kill_keepers(folder: Path, kills: int, seed: int) -> int:
    """Kill a keeper at random instants; return how many kills came while it was writing."""
    chance, during = random.Random(seed), 0
    for turn in range(kills):
        path = folder / f"notes{turn}.sqlite"
        NoteStore(path).add([reading()])
        if turn % 3 == 0:
            without_fits(path)
        said = folder / "said.txt"
        with said.open("w") as stream:
            keeper = subprocess.Popen(
                [sys.executable, "-c", WRITER, str(path)], stdout=stream, stderr=subprocess.PIPE
            )
        while not said.stat().st_size and keeper.poll() is None and turn % 3:
            time.sleep(0.001)
        time.sleep(chance.uniform(0.0, 0.02) if turn % 3 else chance.uniform(0.2, 1.0))
        keeper.send_signal(signal.SIGKILL)
        _, fault = keeper.communicate()
        assert keeper.returncode == -signal.SIGKILL, fault
        lines = said.read_text().splitlines(keepends=True)
        kept = max((int(line) for line in lines if line.endswith("\n")), default=0)
        during += path.with_name(path.name + "-journal").exists()
        assert whole(path) in (kept, kept + 1)
        path.unlink()
    return during


needs_fork = pytest.mark.skipif(not hasattr(os, "fork"), reason="POSIX signals")


@needs_fork
def test_six_kills_leave_the_old_or_the_new_fit(tmp_path: Path) -> None:
    kill_keepers(tmp_path, 6, seed=1)


@pytest.mark.slow
@pytest.mark.timeout(3600)
@needs_fork
def test_two_hundred_kills_leave_the_old_or_the_new_fit(tmp_path: Path) -> None:
    assert kill_keepers(tmp_path, 200, seed=2) > 5


@pytest.mark.slow
@pytest.mark.timeout(1800)
@pytest.mark.parametrize("older", [False, True])
@pytest.mark.parametrize("every", [29, pytest.param(1, marks=pytest.mark.slow)])
def test_stopped_at_any_instruction_the_fit_is_old_or_new(
    path: Path, older: bool, every: int
) -> None:
    if older:
        without_fits(path)
    fit = replace(made(1), draws={name: np.ones(20) for name in OWN})
    for allowed in range(1, 9000, every):
        said_kept = done_within(allowed, lambda: FitStore(path).keep(fit))
        there = whole(path)
        assert there == 1 if said_kept else there in (0, 1)
        if said_kept:
            break
    assert allowed > 50


def test_a_full_disk_keeps_the_old_fit(path: Path) -> None:
    FitStore(path).keep(replace(made(1), draws={name: np.ones(20) for name in OWN}))
    with on_a_full_disk(), pytest.raises(StoreError, match="the disk is full; make room"):
        FitStore(path).keep(replace(made(2), draws={name: np.full(900, 2.0) for name in OWN}))
    assert whole(path) == 1


def test_a_locked_or_read_only_store_keeps_the_old_fit(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(field_note_file, "WAIT_S", 0.05)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    with pytest.raises(StoreError, match="another program is writing"):
        FitStore(path).keep(made())
    holder.execute("ROLLBACK")
    holder.close()
    if os.name == "posix" and os.getuid() != 0:
        path.chmod(0o444)
        with pytest.raises(StoreError, match="read-only"):
            FitStore(path).keep(made())
        path.chmod(0o644)
    assert FitStore(path).all() == []


def test_two_keepers_lose_no_note_and_no_fit(tmp_path: Path) -> None:
    path = tmp_path / "notes.sqlite"
    NoteStore(path).add([reading()])
    without_fits(path)
    command = WRITER.replace("10_000", "9").replace('"rag"', "sys.argv[2]")
    keepers = [
        subprocess.Popen([sys.executable, "-c", command, str(path), paper], stdout=subprocess.PIPE)
        for paper in ("a", "b")
    ]
    for keeper in keepers:
        keeper.communicate()
        assert keeper.returncode == 0
    assert sorted((fit.paper, fit.notes_used) for fit in FitStore(path).all()) == [
        ("a", 8),
        ("b", 8),
    ]


def test_a_fit_kept_under_nearly_the_same_name_is_pointed_out(path: Path) -> None:
    own = event(**{"box.name": "my box"})
    FitStore(path).keep(made(box="My_Box", paper=own.paper.name))
    (said,) = with_kept_fit(own, path=path).warnings
    assert said.startswith("No fit is kept for box 'my box', but one is for 'My_Box'")
    assert with_kept_fit(event(**{"box.name": "long bin"}), path=path).warnings == ()
    assert with_kept_fit(own, calibrated=False, path=path).warnings == ()
