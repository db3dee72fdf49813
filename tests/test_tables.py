"""A shipped table is refused where a row of it has no known worth."""

from __future__ import annotations

from pathlib import Path

import pytest

from drybox import tables
from drybox.errors import InputError


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ("paint,shine,1,W,,,guess,somewhere", "paint/shine lacks status, source or unit"),
        ("paint,shine,1,W,,,judgement,", "lacks status, source or unit"),
        ("paint,shine,1,furlong,,,judgement,somewhere", "unit 'furlong' is not known"),
    ],
)
def test_a_shipped_table_with_a_row_of_unknown_worth_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, row: str, why: str
) -> None:
    (tmp_path / "odd.csv").write_text(f"{','.join(tables.COLUMNS)}\n{row}\n", encoding="utf-8")
    monkeypatch.setattr(tables, "shipped_dir", lambda _: tmp_path)
    with pytest.raises(InputError, match=why):
        tables.load_table.__wrapped__("odd")
