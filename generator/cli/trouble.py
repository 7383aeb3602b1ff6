"""What to tell a person when the machine, not the curriculum, is in the way."""

from __future__ import annotations

import contextlib
import errno
import io
import sys

REMEDIES = {
    errno.ENOSPC: "Free some space on that disk, or name a folder on another disk with --site or --out.",
    errno.EDQUOT: "Your share of that disk is used up. Delete something, or write to another disk.",
    errno.EFBIG: "Files may not become that large here. Raise the limit, or write to another disk.",
    errno.EROFS: "That disk can only be read. Name a folder that can be written with --site or --out.",
    errno.EACCES: "This user may not do that there. Ask for the right to, or name another folder.",
    errno.EPERM: "This user may not do that there. Ask for the right to, or name another folder.",
    errno.ENOENT: "Look whether the name is typed right and the folder above it is there.",
    errno.EEXIST: "A file stands where a folder is needed. Move it away, or name another folder.",
    errno.ENOTDIR: "A file stands where a folder is needed. Move it away, or name another folder.",
    errno.ENAMETOOLONG: "Use a shorter path.",
    errno.EMFILE: "Too many files are open. Close other programs and try again.",
    errno.ENOMEM: "The memory is full. Close other programs and try again.",
    errno.EIO: "The disk does not answer as it should. Look whether it is still connected.",
}


def said(problem: OSError) -> str:
    """The system's words, the file, what survived and what to do."""
    where = f" ({problem.filename})" if problem.filename else ""
    remedy = REMEDIES.get(problem.errno or 0, "Look at that file or folder, then try again.")
    return f"{problem.strerror or problem}{where}. A site that was there before is still in place. {remedy}"


def speak_anywhere() -> None:
    """Let a terminal that knows few letters show others as their codes, where Python would stop with an error."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper) and (stream.encoding or "").lower().replace("-", "") != "utf8":
            with contextlib.suppress(ValueError, io.UnsupportedOperation):
                stream.reconfigure(errors="backslashreplace")
