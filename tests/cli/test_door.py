"""How the command line behaves as a program: statuses, streams, signals, odd terminals."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest

from drybox import MODEL_VERSION, __version__, cli
from drybox.cli import COMMANDS, group, main
from drybox.cli.options import Options, event_options
from drybox.errors import InputError, NoAnswerError, StoreError
from drybox.reports.text.answer import Answer

Captured = pytest.CaptureFixture[str]
Plant = Callable[[Callable[..., Any]], None]


@pytest.fixture
def plant(monkeypatch: pytest.MonkeyPatch) -> Plant:
    """Stand a function in for the command ``check``."""

    def put(function: Callable[..., Any]) -> None:
        command = click.command()(event_options()(function))
        monkeypatch.setattr(group, "get_command", lambda ctx, name: command)
        monkeypatch.setattr(group, "list_commands", lambda ctx: ["check"])

    return put


def raising(error: BaseException) -> Callable[..., Any]:
    def function(options: Options) -> None:
        raise error

    return function


def drybox(*args: str, **env: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "drybox", *args],
        env=os.environ | env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        check=False,
    )


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (InputError("latitude 95 is outside -90 to 90", "option --latitude"), 2),
        (NoAnswerError("the sun does not rise"), 3),
        (StoreError("cannot write x: read-only"), 4),
        (PermissionError(13, "Permission denied", "x.csv"), 4),
        (ZeroDivisionError("oops"), 1),
        (RecursionError("deep"), 1),
        (KeyboardInterrupt(), 130),
    ],
)
def test_every_kind_of_failure_has_its_status_and_one_line(
    plant: Plant, capsys: Captured, error: BaseException, status: int
) -> None:
    plant(raising(error))
    assert main(["check"]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert "Traceback" not in err
    assert err.lstrip().startswith("drybox: ")
    assert len(err.strip().splitlines()) == 1


def test_a_fault_of_ours_shows_where_only_when_asked(plant: Plant, capsys: Captured) -> None:
    plant(raising(ZeroDivisionError("oops")))
    assert main(["check"]) == 1
    assert "--debug" in capsys.readouterr().err
    assert main(["check", "--debug"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_an_error_cannot_play_with_the_terminal(plant: Plant, capsys: Captured) -> None:
    plant(raising(InputError("name 'a\x1b[2Jb\u202ec' is not known")))
    assert main(["check"]) == 2
    assert capsys.readouterr().err == "drybox: name 'a [2Jb c' is not known\n"


@pytest.mark.parametrize("flag", ["-h", "--help"])
def test_help_lists_the_commands_that_exist(capsys: Captured, flag: str) -> None:
    assert main([flag]) == 0
    out = capsys.readouterr().out
    present = group.list_commands(None)  # type: ignore[arg-type]
    assert {"init", "check"} <= set(present) <= set(COMMANDS)
    for name in present:
        assert COMMANDS[name][:40] in " ".join(out.split())
    assert "Exit status" in out


@pytest.mark.parametrize(
    "name", [n for n in COMMANDS if (Path(cli.__file__).parent / f"{n}.py").is_file()]
)
def test_every_command_has_help_with_an_example(capsys: Captured, name: str) -> None:
    assert main([name, "--help"]) == 0
    out = capsys.readouterr().out
    assert f"Usage: drybox {name}" in out
    assert f"  drybox {name} " in out


def test_version(capsys: Captured) -> None:
    assert main(["--version"]) == 0
    assert (
        capsys.readouterr().out.rpartition(", ")[0]
        == f"drybox {__version__}, model {MODEL_VERSION}"
    )


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["chek"], "did you mean 'check'?"),
        (["fair.toml"], "drybox check fair.toml"),
        (["zzz"], "see 'drybox --help'"),
        (["check", "--forma", "json"], "--format"),
        (["check", "--format", "xml"], "'--format'"),
        (["check", "--cloud", "9"], "cloud 9 is outside 0 to 8 (option --cloud)"),
        (["check", "--cloud", "nan"], "cloud 'nan' is not a finite number (option --cloud)"),
        (["check", "--cloud", "inf"], "option --cloud"),
        (["check", "--cloud", "9/8"], "cloud 9 is outside 0 to 8 (option --cloud)"),
        (["check", "--cloud", "3/4"], "cloud '3/4' is not in eighths; write it like 3/8"),
        (["check", "--cloud", "1e400"], "option --cloud"),
        (["check", "--elevation", "12 kg"], "option --elevation"),
        (["check", "--elevation", "9500"], "elevation 9500 m is outside -430 m to 9000 m"),
        (["check", "--seed", "-1"], "option --seed"),
        (["check", "--seed", "1.5"], "option --seed"),
        (["check", "--sky", "clear", "--cloud", "2"], "both --sky and --cloud"),
    ],
)
def test_bad_options_end_with_2_and_say_what_to_type(
    capsys: Captured, args: list[str], words: str
) -> None:
    assert main(args) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert words in err
    assert len(err.splitlines()) == 1


def test_no_command_shows_help_on_standard_error(capsys: Captured) -> None:
    assert main([]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("Usage: drybox")


def test_options_become_keys_of_an_event(plant: Plant, tmp_path: Path) -> None:
    seen: list[Options] = []
    plant(seen.append)
    pasted = ["--latitude", "48.2082, 16.3738", "--elevation", "650 ft", "--cloud", "2,5"]
    where = ["--weather", "sky.csv", "--date", "2027-06-12", "--at", "13:20", "--seed", "7"]
    assert main(["check", "fair.toml", *pasted, *where, "--units", "us"]) == 0
    (options,) = seen
    assert options.event == Path("fair.toml")
    assert options.overrides == {
        "place.latitude": "48.2082",
        "place.longitude": "16.3738",
        "place.elevation": "198.12 m",
        "event.date": "2027-06-12",
        "weather.file": str(Path("sky.csv").absolute()),
        "weather.cloud": "2.5 oktas",
    }
    assert (options.at, options.seed, options.units, options.format) == ("13:20", 7, "us", "text")


@pytest.mark.parametrize("cloud", ["3", "3/8", "3 / 8", "3 oktas", "37.5 %"])
def test_cloud_is_read_in_eighths_however_it_is_written(plant: Plant, cloud: str) -> None:
    seen: list[Options] = []
    plant(seen.append)
    assert main(["check", "--cloud", cloud]) == 0
    assert seen[0].overrides == {"weather.cloud": "3.0 oktas"}


def said(options: Options) -> None:
    lead = ["At Köln it is 20 °C – warm."]
    options.show(Answer("check", {"a": 1}, lead, place={"name": "Köln"}))


def test_a_reader_that_leaves_is_no_failure() -> None:
    read_end, write_end = os.pipe()
    os.close(read_end)
    with os.fdopen(write_end, "wb") as stdout:
        done = subprocess.run(
            [sys.executable, "-m", "drybox", "--help"],
            stdout=stdout,
            stderr=subprocess.PIPE,
            check=False,
        )
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no /dev/full here")
def test_a_full_disk_ends_with_4_and_one_line() -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "drybox", "--help"],
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 4
    assert len(done.stderr.splitlines()) == 1
    assert "No space left" in done.stderr


def test_an_answer_that_nobody_can_read_is_a_failure(
    plant: Plant, capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    plant(said)
    monkeypatch.setattr(sys, "stdout", None)
    assert main(["check"]) == 4
    assert "standard output is closed" in capsys.readouterr().err


def test_an_ascii_terminal_gets_plain_letters() -> None:
    done = drybox("--help", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.returncode == 0
    done.stdout.decode("ascii")


@pytest.mark.parametrize("columns", ["20", "0", "wide"])
def test_a_narrow_or_odd_terminal_is_enough(
    monkeypatch: pytest.MonkeyPatch, capsys: Captured, columns: str
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    here = ["--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12"]
    assert main(["check", *here]) == 0
    widest = max(map(len, capsys.readouterr().out.splitlines()))
    assert widest <= (20 if columns == "20" else 80)


def test_no_home_and_the_c_locale_are_enough() -> None:
    env = {name: value for name, value in os.environ.items() if name not in ("HOME", "LANG")}
    done = subprocess.run(
        [sys.executable, "-m", "drybox", "--version"],
        env=env | {"LC_ALL": "C"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert done.stdout.startswith(f"drybox {__version__}")


def test_ctrl_c_ends_with_130(tmp_path: Path) -> None:
    script = (
        "import click, os, signal, sys\n"
        "from drybox.cli import group, main\n"
        "@click.command()\n"
        "def wait():\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    import time; time.sleep(10)\n"
        "group.list_commands = lambda ctx: ['wait']\n"
        "group.get_command = lambda ctx, name: wait\n"
        "sys.exit(main(['wait']))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=False
    )
    assert done.returncode == 130 or done.returncode == -signal.SIGINT
    assert "Traceback" not in done.stderr


def in_terminal(**env: str) -> bytes:
    """What a command writes to a terminal of its own."""
    import pty

    script = (
        "import click, sys\n"
        "from drybox.cli import group, main\n"
        "from drybox.cli.options import event_options\n"
        "from drybox.reports.text.answer import Answer\n"
        "@click.command()\n"
        "@event_options()\n"
        "def say(options):\n"
        "    options.show(Answer('say', {}, ['Dry by 14:12.']))\n"
        "group.list_commands = lambda ctx: ['say']\n"
        "group.get_command = lambda ctx, name: say\n"
        "sys.exit(main(['say']))\n"
    )
    ours, theirs = pty.openpty()
    clean = {name: value for name, value in os.environ.items() if name != "NO_COLOR"}
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdout=theirs,
        stderr=theirs,
        stdin=theirs,
        env=clean | {"TERM": "xterm"} | env,
    ) as process:
        os.close(theirs)
        written = b""
        while True:
            try:
                chunk = os.read(ours, 4096)
            except OSError:  # the other end is closed
                break
            if not chunk:
                break
            written += chunk
        assert process.wait() == 0
    os.close(ours)
    return written


def test_a_terminal_gets_emphasis_unless_it_declines() -> None:
    assert b"\x1b[1m" in in_terminal()
    assert b"\x1b" not in in_terminal(NO_COLOR="1")
    assert b"\x1b" not in in_terminal(TERM="dumb")


def test_a_pipe_gets_no_codes(plant: Plant, capsys: Captured) -> None:
    plant(said)
    assert main(["check"]) == 0
    assert capsys.readouterr().out == "At Köln it is 20 °C – warm.\n"


def test_json_stays_json_on_an_ascii_terminal() -> None:
    record = Options(format="json").rendered(
        Answer("check", {}, [], place={"name": "Köln"}), encoding="ascii"
    )
    assert record.isascii()
    assert json.loads(record)["place"]["name"] == "Köln"


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_a_script_for_completion(
    shell: str, monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setenv("_DRYBOX_COMPLETE", f"{shell}_source")
    assert main([]) == 0
    assert f"{shell}_complete" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "offered"),
    [
        ("drybox ch", ["plain,check"]),
        ("drybox aim --lat", ["plain,--latitude"]),
        ("drybox aim --sky ov", ["plain,overcast"]),
        ("drybox aim --sky th", ["plain,thin-cloud"]),
        ("drybox note laid 7 --way b", ["plain,blotter-book"]),
        ("drybox dry --ways sun-plate,sc", ["plain,sun-plate,screen-in-the-shade"]),
        ("drybox explain pl", ["plain,plate"]),
        ("drybox note pl", ["plain,plate"]),
        ("drybox weather f", ["plain,fetch"]),
        ("drybox dry fa", ["file,fa"]),
        ("drybox plan fair.toml --sheet d", ["file,d"]),
        ("drybox init f", ["dir,f"]),
    ],
)
def test_completion(
    words: str, offered: list[str], monkeypatch: pytest.MonkeyPatch, capsys: Captured
) -> None:
    monkeypatch.setenv("_DRYBOX_COMPLETE", "bash_complete")
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", str(len(words.split()) - 1))
    assert main([]) == 0
    assert capsys.readouterr().out.split("\n")[:-1] == offered


def test_every_command_stands_in_the_readme() -> None:
    readme = (Path(cli.__file__).parents[2] / "README.md").read_text("utf-8")
    for name in group.list_commands(None):  # type: ignore[arg-type]
        assert f"`{name}" in readme or f"drybox {name}" in readme, name


def test_a_module_of_the_folder_one_stands_in_is_not_taken_for_a_library(tmp_path: Path) -> None:
    (tmp_path / "numpy.py").write_text("raise SystemExit('not the library')")
    args = ["--latitude", "47.2", "--longitude", "12.3", "--date", "2027-06-12"]
    root = str(Path(__file__).parents[2])
    done = subprocess.run(
        [sys.executable, "-m", "drybox", "check", *args],
        env=os.environ | {"PYTHONPATH": root},
        cwd=tmp_path,
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
