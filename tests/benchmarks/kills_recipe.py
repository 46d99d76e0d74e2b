"""Kill a run ten times at random moments, resume it, compare: run by hand, writes kills.txt beside it.

    python tests/benchmarks/kills_recipe.py [BRIEF ...]

The whole process group is killed by the system (SIGKILL), workers too. The run of default budget, the folded
plate staged, must end in the same bytes as one that nobody touched: the table of the front, every delivered
design, the archive and the history.
"""

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from hashlib import sha256
from pathlib import Path

from longvault.optimise.state import load_state

BRIEFS = ("market-hall",)
KILLS, SECONDS, SEED = 10, (1.0, 15.0), 4
SAME = ("front.csv", "archive.npz", "history.csv", "designs")
CHECKPOINT = "checkpoint"
HEAD = "Killed by the system ten times, resumed with one and two workers in turn (kills_recipe.py)."
OUT = Path(__file__).parent / "kills.txt"
QUIET = {"stdout": subprocess.DEVNULL, "start_new_session": True}
LONGVAULT = (sys.executable, "-c", "from longvault.studies.cli import main; main()")


def run(*arguments, seconds=None):
    """Run the command to its end, or kill it and its workers after so many seconds; whether it ended."""
    process = subprocess.Popen((*LONGVAULT, *arguments), stderr=subprocess.STDOUT, **QUIET)
    try:
        code = process.wait(seconds)
    except subprocess.TimeoutExpired:
        os.killpg(process.pid, signal.SIGKILL)
        process.wait()
        return False
    if code:
        raise SystemExit(f"longvault {' '.join(arguments)} ended with {code}")
    return True


def prints(folder):
    """Hash of each thing that must be the same."""
    found = {}
    for name in SAME:
        path = folder / name
        files = sorted(p for p in path.rglob("*") if p.is_file()) if path.is_dir() else [path]
        whole = sha256()
        for file in files:
            whole.update(str(file.relative_to(folder)).encode() + file.read_bytes())
        found[name] = len(files), whole.hexdigest()
    return found


def killed(brief, folder, rng):
    """Kill the run of a brief ten times, then let it end; a line for each kill."""
    seeded = ("--seed", str(SEED))
    goes_on = seeded
    for number in range(1, KILLS + 1):
        seconds = rng.uniform(*SECONDS)
        if run("search", brief, "--out", str(folder), *goes_on, seconds=seconds):
            raise SystemExit(f"the run ended before kill {number}")
        state = folder / CHECKPOINT
        made = load_state(state).evaluations if state.exists() else 0
        if (folder / "manifest.json").exists():  # killed earlier, a run is begun anew
            goes_on = (*seeded, "--resume", "--workers", str(1 + number % 2))
        yield f"  kill {number:2d} after {seconds:4.1f} s: {made:6d} evaluations kept"
    run("search", brief, "--out", str(folder), *goes_on)


def table(kind, where):
    """Lines of one brief."""
    brief, whole, broken = str(where / f"{kind}.toml"), where / "whole", where / "killed"
    run("new", kind, brief)
    began = time.monotonic()
    run("search", brief, "--out", str(whole), "--seed", str(SEED))
    yield f"{kind}, seed {SEED}: untouched in {time.monotonic() - began:.0f} s"
    yield from killed(brief, broken, random.Random(SEED))
    here, there = prints(whole), prints(broken)
    for name, found in here.items():
        verdict = "the same bytes" if there[name] == found else "DIFFERS"
        yield f"  {name}: {found[0]} file{'s' * (found[0] > 1)}, {verdict}"


def main(kinds):
    """Write the tables."""
    lines = [HEAD]
    for kind in kinds:
        with tempfile.TemporaryDirectory() as where:
            for line in table(kind, Path(where)):
                print(line, flush=True)
                lines.append(line)
    OUT.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:] or BRIEFS)
