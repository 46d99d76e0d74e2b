"""The schema that ships with the package says of section files what the reader says."""

import copy
import json

import jsonschema
import pytest

from longvault.sections import Joint, Section, Strips
from longvault.sections.export.section_json import json_text
from longvault.sections.section_file import (
    SectionFileError,
    section_from_dict,
    section_schema,
    section_to_dict,
)

VALIDATOR = jsonschema.Draft202012Validator(section_schema())
FOLD = Section(
    "fold",
    Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "kerb"]),
    (Joint(0, "valley", "left"), Joint(2, "strut", "right", 1e6)),
)


def changed(path, value):
    document = json.loads(json_text(section_to_dict(FOLD)))
    place = document
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    return document


def test_schema_is_one():
    jsonschema.Draft202012Validator.check_schema(section_schema())


def test_what_is_written_obeys():
    document = json.loads(json_text(section_to_dict(FOLD, {"measures": {"area_m2": 0.7}})))
    VALIDATOR.validate(document)
    assert section_from_dict(document).joints == FOLD.joints


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "other"),
        (("version",), 2),
        (("name",), 7),
        (("nodes_m",), [[0.0, 0.0]]),
        (("nodes_m", 1), [0.0, 2.0, 1.0]),
        (("nodes_m", 1, 0), "0"),
        (("strips",), []),
        (("strips", 0, "nodes"), [0]),
        (("strips", 0, "nodes", 0), -1),
        (("strips", 0, "thickness_m"), 0.0),
        (("strips", 0, "part"), 3),
        (("joints", 0, "kind"), "hinge"),
        (("joints", 0, "side"), "up"),
        (("joints", 0, "node"), -1),
        (("joints", 1, "spring_kN_m2"), -1.0),
    ],
)
def test_both_refuse(path, value):
    document = changed(path, value)
    with pytest.raises(SectionFileError):
        section_from_dict(copy.deepcopy(document))
    assert not VALIDATOR.is_valid(document)
