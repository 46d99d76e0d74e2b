"""Write a run into its folder: every file whole or not at all, no clock in anything but the manifest."""

import hashlib
import io
import json
import os
import platform
import zipfile
from collections.abc import Mapping
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np

from longvault.constraints.measures import MEASURES
from longvault.optimise import Outcome, Problem, Status
from longvault.optimise.section_designs import parts_of, scores_of
from longvault.sections.export import write_bytes, write_table, write_text
from longvault.sections.export.section_json import export_json, json_text
from longvault.sections.symbols import CAUTION, AnyArray, Array
from longvault.studies import record
from longvault.studies.brief_model import Brief
from longvault.studies.brief_write import brief_text
from longvault.studies.record_designs import Delivered

AT_FINE_RESOLUTION = (
    "The search met no design that holds its own demands, which are a little higher than those of the proof; "
    "the nearest one holds every limit at fine resolution and is delivered."
)
PACKAGES = ("longvault", "numpy", "scipy", "pymoo", "moocore", "numba", "shapely")


def write_brief(folder: Path, brief: Brief) -> str:
    """Write the brief as run and return the SHA-256 of its bytes."""
    text = brief_text(brief)
    write_text(folder / record.BRIEF, text)
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def write_designs(folder: Path, delivered: Delivered) -> None:
    """Write one section file a design, with measures, margins, variables; drop those of an earlier stop."""
    written = {folder / record.DESIGNS / f"{name}.json": place for place, name in enumerate(delivered.names)}
    for path, place in written.items():
        export_json(delivered.section(place), path, delivered.document(place))
    drop_others(folder / record.DESIGNS, set(written))


def drop_others(folder: Path, kept: set[Path]) -> None:
    """Remove files of an earlier stop of the same run that the new state does not have."""
    for path in folder.iterdir():
        if path not in kept:
            path.unlink()


def write_front(folder: Path, columns: Mapping[str, list[Any]]) -> None:
    """Write the table of delivered designs."""
    write_table(folder / record.FRONT, columns)


def write_history(folder: Path, outcome: Outcome) -> None:
    """Write the growth of the front over the evaluations."""
    history = outcome.history
    columns = {
        "evaluations": [int(v) for v in history.evaluations],
        "members": [int(v) for v in history.members],
        "feasible_share": history.feasible_share.tolist(),
        "hypervolume": history.hypervolume.tolist(),
    }
    write_table(folder / record.HISTORY, columns)


def write_archive(folder: Path, problem: Problem, outcome: Outcome) -> None:
    """Write all non-dominated feasible designs: family, variables, objectives, margins, with names, SI.

    ``variables`` names the columns of ``x``, one row a family; NaN stands where a family has fewer.
    """
    front = outcome.front
    families, variables, number, x = _by_family(problem, front.x)
    arrays = {
        "caution": np.array(CAUTION),
        "families": families,
        "variables": variables,
        "objectives": np.array([o.name for o in problem.objectives]),
        "senses": np.array([o.sense for o in problem.objectives]),
        "limits": np.array(problem.margin_names),
        "family": number,
        "x": x,
        "objective_values": front.objectives,
        "margin_values": front.margins,
        "resolution": np.array(outcome.archive.resolution),
    }
    write_bytes(folder / record.ARCHIVE, npz_bytes(arrays))


def _by_family(problem: Problem, x: Array) -> tuple[AnyArray, AnyArray, AnyArray, Array]:
    """Names of the families and of their variables, number of the family and own variables of each design."""
    families = [one.family for one in scores_of(problem)]
    keys = [family.key for family in families]
    widest = max(len(family.variables) for family in families)
    names = np.zeros((len(families), widest), dtype="U64")
    for row, family in zip(names, families, strict=True):
        row[: len(family.variables)] = [variable.name for variable in family.variables]
    number, padded = np.zeros(len(x), dtype=np.int64), np.full((len(x), widest), np.nan)
    for scores, rows, own in parts_of(problem, x):
        number[rows] = keys.index(scores.family.key)
        padded[rows, : own.shape[1]] = own
    return np.array(keys), names, number, padded


def npz_bytes(arrays: Mapping[str, Any]) -> bytes:
    """Bytes of an .npz file that depend on the arrays alone: the zip holds no clock.

    Examples
    --------
    >>> import numpy as np
    >>> npz_bytes({"a": np.arange(3)}) == npz_bytes({"a": np.arange(3)})
    True
    """
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as bundle:
        for name, values in arrays.items():
            entry = zipfile.ZipInfo(f"{name}.npy", date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            inner = io.BytesIO()
            np.lib.format.write_array(inner, np.asarray(values, order="C"), allow_pickle=False)
            bundle.writestr(entry, inner.getvalue())
    return out.getvalue()


def write_begun(folder: Path, brief: Brief, *, demo: bool) -> None:
    """Write the manifest of a run that is under way; the finished one replaces it."""
    begun = {"caution": CAUTION, "name": brief.name, "demo": demo, "status": record.RUNNING}
    write_text(folder / record.MANIFEST, json_text(begun))


def write_manifest(
    folder: Path,
    *,
    brief: Brief,
    brief_hash: str,
    outcome: Outcome,
    delivered: Delivered,
    objectives: tuple[str, ...],
    began: str,
    seconds: float,
    demo: bool = False,
) -> None:
    """Write what was run, with what, when and on what machine: the last file of a run."""
    history = outcome.history
    settings = {key: getattr(outcome.settings, key) for key in outcome.settings.__dataclass_fields__}
    status, sentence = status_of(outcome, delivered)
    document = {
        "caution": CAUTION,
        "name": brief.name,
        "demo": demo,
        "brief_sha256": brief_hash,
        "status": status.name,
        "stopped": outcome.stopped.name,
        "sentence": sentence,
        "seed": outcome.seed,
        "evaluations": outcome.evaluations,
        "feasible_share": outcome.feasible_share,
        "delivered": len(delivered.names) if delivered.feasible else 0,
        "folded_plate": _proofs(brief, delivered),
        "archive": len(outcome.front),
        "archive_resolution": outcome.archive.resolution,
        "picks": delivered.picks,
        "objectives": [_objective(key) for key in objectives],
        "hypervolume": float(history.hypervolume[-1]) if len(history.hypervolume) else 0.0,
        "hypervolume_reference": history.reference.tolist(),
        "settings": settings,
        "began": began,
        "seconds": round(seconds, 3),
        "machine": {"system": platform.system(), "processor": platform.machine(), "cores": os.cpu_count()},
        "versions": {"python": platform.python_version(), **_versions()},
    }
    write_text(folder / record.MANIFEST, json_text(json.loads(json.dumps(document))))


def status_of(outcome: Outcome, delivered: Delivered) -> tuple[Status, str]:
    """How a run ended, and the sentence for it: what the proof at fine resolution says has the last word."""
    if not delivered.feasible:
        return Status.NOTHING_FEASIBLE, Status.NOTHING_FEASIBLE.sentence
    if not len(outcome.front):
        return outcome.stopped, AT_FINE_RESOLUTION
    return outcome.status, outcome.status.sentence


def _proofs(brief: Brief, delivered: Delivered) -> dict[str, Any]:
    proof = delivered.proof
    return {
        "covered": proof.covered,
        "in_the_loop": brief.search.folded_plate,
        "proved": proof.tried,
        "refused": proof.refused,
        "refused_of_beam_alone": proof.beam_alone,
    }


def _objective(key: str) -> dict[str, str]:
    measure = MEASURES[key]
    return {"key": key, "column": measure.column, "title": measure.title, "sense": measure.sense}


def _versions() -> dict[str, str]:
    found = {}
    for name in PACKAGES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            continue
    return found
