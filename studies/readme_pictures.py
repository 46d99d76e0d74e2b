"""Make the README's pictures: ``python -m longvault.studies.readme_pictures`` in the project folder."""

import json
import shutil
import tempfile
from pathlib import Path

from longvault.studies.brief import read_brief
from longvault.studies.briefs import starter_text
from longvault.studies.lessons import deeper
from longvault.studies.record import FIGURES, MANIFEST, fresh_folder
from longvault.studies.run import make_job, run_job

KIND = "reading-hall"
PICTURES = Path("studies") / "pictures"


def make_pictures(folder: Path = PICTURES) -> list[Path]:
    """Search the built-in brief, draw the lesson, and put three pictures into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as scratch:
        run = Path(scratch) / "run"
        run_job(make_job(read_brief(starter_text(KIND))), fresh_folder(run))
        knee = json.loads((run / MANIFEST).read_text(encoding="utf-8"))["picks"]["knee"]
        shutil.copyfile(run / FIGURES / "front.png", folder / "front.png")
        shutil.copyfile(run / FIGURES / f"section-{knee}.png", folder / "section.png")
    deeper.draw(folder / "deeper.png")
    return sorted(folder.glob("*.png"))


if __name__ == "__main__":
    make_pictures()
