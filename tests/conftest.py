"""What every test shares: field notes of its own, so that none stands on the developer's."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import settings

settings.register_profile("same every time", derandomize=True)
settings.register_profile("explore", max_examples=300)
settings.load_profile(os.environ.get("DRYBOX_HYPOTHESIS", "same every time"))


@pytest.fixture(scope="session")
def no_notes(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("no-notes") / "notes.sqlite"


@pytest.fixture(autouse=True)
def _own_notes(monkeypatch: pytest.MonkeyPatch, no_notes: Path) -> None:
    monkeypatch.setenv("DRYBOX_NOTES", str(no_notes))
