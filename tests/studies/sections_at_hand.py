"""Sections and briefs that several tests of studies share."""

from click.testing import CliRunner

from longvault.sections import Section
from longvault.sections.families.tapered import Tapered
from longvault.studies.brief import basis_of, family_of, read_brief
from longvault.studies.briefs import starter_text
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli


def run(*args):
    """Run the command line with these words."""
    return CliRunner().invoke(cli, [str(arg) for arg in args])


def starter(kind):
    """Starter brief of a kind."""
    return read_brief(starter_text(kind))


def start_section(kind, number=3):
    """One of the designs a family starts from, as a section."""
    family = family_of(starter(kind))
    return Section("start", family.strips(family.starts()[number]), family.joints)


def checked_start(kind, number=3):
    """The same, checked against its brief; a taper at all its stations."""
    member = start_member(kind, number)
    return check_section(start_section(kind, number), basis_of(starter(kind)), member=member)


def start_member(kind, number=3):
    """All sections of a start that varies along the span, None for one that does not."""
    family = family_of(starter(kind))
    return family.member(family.starts()[number]) if isinstance(family, Tapered) else None


def small_brief(kind, folder, *, evaluations=3000, deliver=6, seed=3, **replaced):
    """A starter brief with a small budget, written to a file; ``replaced`` gives new values of keys."""
    changes = {"evaluations": evaluations, "deliver": deliver, "seed": seed, **replaced}
    lines = starter_text(kind).splitlines()
    for key, value in changes.items():
        place = next(i for i, line in enumerate(lines) if line.lstrip("# ").startswith(f"{key} ="))
        lines[place] = f"{key} = {value}"
    path = folder / f"{kind}.toml"
    path.write_text("\n".join(lines), encoding="utf-8")
    return path
