"""Write a file whole or not at all: beside its place, flushed to disk, then renamed over it."""

import os
import secrets
from pathlib import Path


def write_text(path: str | Path, text: str) -> None:
    """Write UTF-8 text (line ends as given) so that a reader sees the old file or the whole new one.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_text(Path(folder) / "a.txt", "one")
    ...     (Path(folder) / "a.txt").read_text(), len(list(Path(folder).iterdir()))
    ('one', 1)
    """
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: str | Path, data: bytes) -> None:
    """Write bytes so that a reader sees the old file or the whole new one.

    Parameters
    ----------
    path : str or Path
        Its folder must exist and be writable.
    data : bytes
        The whole content.

    Raises
    ------
    OSError
        If the folder is missing or cannot be written; nothing is left behind and an old file stays as it was.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_bytes(Path(folder) / "a.bin", b"abc")
    ...     (Path(folder) / "a.bin").stat().st_size
    3
    """
    path = Path(path)
    beside = path.with_name(f".{path.name[:100]}.{secrets.token_hex(6)}.part")
    try:
        with open(beside, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
    _sync_folder(path.parent)


def _sync_folder(folder: Path) -> None:
    """Make the rename itself durable, where the system lets a folder be opened."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
