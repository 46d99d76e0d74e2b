"""A flat slab is a section like another: checked without a crash, and the slice it has not told as none."""

import json

import numpy as np
from click.testing import CliRunner

from longvault.sections import Joint, Section, Strips
from longvault.sections.export import EXPORTERS
from longvault.studies.briefs import starter_text
from longvault.studies.cli.group import cli


def test_a_flat_slab_is_checked(tmp_path):
    brief, file = tmp_path / "b.toml", tmp_path / "slab.json"
    brief.write_text(starter_text("classroom"))
    x = np.linspace(-3.3, 3.3, 11)
    joints = (Joint(0, "slot", "left"), Joint(10, "slot", "right"))
    EXPORTERS["json"](Section("slab", Strips.chain(x, np.zeros(11), 0.2, "crown"), joints), file)
    done = CliRunner().invoke(cli, ["check", str(brief), "--section", str(file), "--json"])
    assert done.exit_code in (0, 1), f"{done.output} {done.exception}"
    data = json.loads(done.stdout)
    assert data["transverse_slice"]["interior"]["transverse_moment_kNm_m"] is None
    assert data["transverse_moment_kNm_m"] >= 0
    assert data["caution"]
