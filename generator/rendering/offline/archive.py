"""A site as one zip that opens from a folder: the same site gives the same bytes."""

from __future__ import annotations

import os
import tempfile
import zipfile
from pathlib import Path

FIXED = (1980, 1, 1, 0, 0, 0)
"""The first moment that a zip can tell."""
_PACKED = (".pdf", ".woff2", ".png", ".gz")


def write_zip(folder: Path, target: Path) -> int:
    """Pack a folder under its own name, whole or not at all; gives the number of bytes.

    Files are in the order of their paths, dated the same, readable by all. Raises OSError when it cannot be written.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}-new-")
    fresh = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream, zipfile.ZipFile(stream, "w") as archive:
            for path in sorted(path for path in folder.rglob("*") if path.is_file()):
                inside = path.relative_to(folder).as_posix()
                if inside.startswith("."):
                    continue
                info = zipfile.ZipInfo(f"{folder.name}/{inside}", FIXED)
                info.create_system = 3  # as on Unix, so that the bytes are the same on Windows
                info.external_attr = 0o100644 << 16
                info.compress_type = zipfile.ZIP_STORED if inside.endswith(_PACKED) else zipfile.ZIP_DEFLATED
                archive.writestr(info, path.read_bytes(), compresslevel=6)
        fresh.chmod(0o644)
        fresh.replace(target)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise
    return target.stat().st_size
