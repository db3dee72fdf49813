import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import InputError, StoreError
from drybox.inputs.text.toml_lines import LARGEST_FILE_BYTES, find_lines, read_toml

NAMES = st.from_regex(r"[a-z][a-z0-9_]{0,8}", fullmatch=True)
VALUES = st.sampled_from(
    [
        "1",
        '"# no = comment"',
        "'[x]'",
        "[1, 2]",
        "[\n  1, # one\n  2,\n]",
        '"""\na = 1\n[b]\n"""',
        "{ a = 1 }",
        "12:30:00",
    ]
)


@settings(deadline=None)
@given(st.dictionaries(NAMES, st.dictionaries(NAMES, VALUES, max_size=4), max_size=4))
def test_every_key_of_a_generated_file_is_found_on_its_line(tables):
    text, expected = "", {}
    for table, keys in tables.items():
        text += f"# about {table}\n[{table}]\n"
        expected[table] = text.count("\n")
        for key, value in keys.items():
            expected[f"{table}.{key}"] = text.count("\n") + 1
            text += f"{key} = {value} # why\n"
    tomllib.loads(text)
    assert find_lines(text) == expected


def test_a_key_inside_an_inline_table_has_the_line_of_the_outer_key(tmp_path):
    path = tmp_path / "e.toml"
    path.write_text('\nplace = { name = "x" }\n')
    file = read_toml(path)
    assert file.line_of("place.name") == 2
    assert file.line_of("box.finish") is None


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[place]\nname = \n", "line 2"),
        ("[box]\nplate_thickness = 3 mm\n", "line 2"),
        ("[box]\nplate_thickness = 3,5\n", "line 2"),
        ("a = 1\na = 2\n", "line 2"),
        ('name = "never closed\n', "line 1"),
        ("[place\n", "line 1"),
        ('"""', "line 1"),
    ],
)
def test_broken_toml_is_said_with_file_and_line(tmp_path, text, message):
    path = tmp_path / "fair.toml"
    path.write_text(text)
    with pytest.raises(InputError, match=rf"not valid TOML.*fair\.toml, {message}"):
        read_toml(path)


def test_a_mark_at_the_start_and_windows_line_ends_are_understood(tmp_path):
    path = tmp_path / "fair.toml"
    path.write_bytes('\ufeff[place]\r\nname = "x"\r\n'.encode())
    file = read_toml(path)
    assert file.tables == {"place": {"name": "x"}}
    assert file.line_of("place.name") == 2


def test_what_is_no_readable_file_is_said(tmp_path):
    with pytest.raises(StoreError, match=r"there is no file .*drybox init"):
        read_toml(tmp_path / "none.toml")
    with pytest.raises(StoreError, match="is not a file"):
        read_toml(tmp_path)
    binary = tmp_path / "b.toml"
    binary.write_bytes("ü".encode("utf-16"))
    with pytest.raises(InputError, match="not UTF-8"):
        read_toml(binary)
    binary.write_bytes(b"#" * (LARGEST_FILE_BYTES + 1))
    with pytest.raises(InputError, match="larger than 1 MB"):
        read_toml(binary)
