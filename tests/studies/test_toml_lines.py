"""Lines of keys in TOML text: every key the parser sees is found, on the line it was written."""

import tomllib
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from longvault.studies.toml_lines import key_lines

AWKWARD = '''\
# a comment with = and [brackets]
name = "a # not a comment" # a real one
scenario = """
[roof]  is not a table here
span_m = 3 \\""" nor this
"""
raw = \'\'\'
x = 1\'\'\'\'
"quoted key".'other.key' = 1

[roof] # header
span_m = 24
vault.rise_m = 1.5
"bay_m"    =   6.0
list = [ 1, # one
  [2, "]"],
  3 ]
inline = { a = 1, b = { c = "}" } }
when = 1979-05-27 07:32:00
[[part]]
name = "x"
[part.size]
t = 1
[[part]]
name = "y"
size.t = 2
[a . b]
c=1
'''

EXPECTED = {
    ("name",): 2,
    ("scenario",): 3,
    ("raw",): 7,
    ("quoted key", "other.key"): 9,
    ("roof",): 11,
    ("roof", "span_m"): 12,
    ("roof", "vault", "rise_m"): 13,
    ("roof", "bay_m"): 14,
    ("roof", "list", 1): 16,
    ("roof", "list", 2): 17,
    ("roof", "inline", "b", "c"): 18,
    ("roof", "when"): 19,
    ("part", 0): 20,
    ("part", 0, "size", "t"): 23,
    ("part", 1, "name"): 25,
    ("part", 1, "size", "t"): 26,
    ("a", "b", "c"): 28,
}


def paths(value, prefix=()):
    """Every path in a parsed document."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*prefix, key)
        yield from paths(inner, (*prefix, key))


@pytest.mark.parametrize("ends", ["\n", "\r\n"])
def test_every_key_of_an_awkward_text_is_found_on_its_line(ends):
    text = AWKWARD.replace("\n", ends)
    found = key_lines(text)
    assert set(found) == set(paths(tomllib.loads(text)))
    assert {path: found[path] for path in EXPECTED} == EXPECTED


def test_text_without_keys_has_no_lines():
    assert key_lines("") == {}
    assert key_lines("# only a comment") == {}


def written(value):
    """A value as TOML, spread over lines where that is allowed."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[ # [\n" + ",\n".join(written(v) for v in value) + " ]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{k}" = {written(v)}' for k, v in value.items()) + " }"
    if isinstance(value, str):
        return "'''\n" + value + "'''"
    return value.isoformat() if isinstance(value, date) else repr(value)


leaves = st.one_of(st.integers(-9, 9), st.booleans(), st.dates(), st.text('ab =#[]{}\n".,', max_size=6))
values = st.recursive(
    leaves,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("ab.=] ", max_size=3), leaves, max_size=3)
    ),
    max_leaves=6,
)


@given(st.dictionaries(st.text("abc.#=[ ", max_size=4), values, max_size=4))
def test_paths_agree_with_the_parser_on_any_document(document):
    text = "".join(f'"{key}" = {written(value)} # = [x]\n' for key, value in document.items())
    assert set(key_lines(text)) == set(paths(tomllib.loads(text)))
