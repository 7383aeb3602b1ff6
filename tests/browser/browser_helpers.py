"""Plain helpers of the browser tests: where Chromium is, a small server, the small page the scripts are tried on."""

from __future__ import annotations

import html
import json
import os
import shutil
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import Any

CHROMIUM_PLACES = ("/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome")
CHROMIUM_ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    # Whatever a page or the browser asks for, no name but this machine's own address resolves.
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
)
STRICT_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'self'"
)
"""A Content-Security-Policy with no inline script, no inline style and no eval."""

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}
DESKTOP = {"viewport": {"width": 1280, "height": 800}}
ASSETS = ("pacer.js", "pacer.css", "practice.js", "practice.css", "choices.css")


def chromium_path() -> Path | None:
    """The Chromium to use: RUNGBOOK_CHROMIUM if set, else the usual places."""
    named = os.environ.get("RUNGBOOK_CHROMIUM")
    if named:
        return Path(found) if (found := shutil.which(named)) else None
    return next((Path(place) for place in CHROMIUM_PLACES if Path(place).exists()), None)


class _Quiet(SimpleHTTPRequestHandler):
    policy: str | None = None

    def __init__(self, *args: Any, policy: str | None = None, **kwargs: Any) -> None:
        self.policy = policy
        super().__init__(*args, **kwargs)

    def end_headers(self) -> None:
        self.send_header("Cache-Control", "no-store")
        if self.policy:
            self.send_header("Content-Security-Policy", self.policy)
        super().end_headers()

    def log_message(self, format: str, *args: Any) -> None:
        """Say nothing."""


@contextmanager
def served(folder: Path, *, policy: str | None = None) -> Iterator[str]:
    """Serve a folder on 127.0.0.1 at a free port; gives the address with its last slash."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder), policy=policy))
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def pacer_html(id: str, interval_ms: float | str, words: Sequence[str], name: str) -> str:
    """A pacer as a page renders it, readable without a script."""
    plain = html.escape(f"Pace: {name}. {' · '.join(words)}")
    return (
        f'<div class="rb-pacer" data-interval-ms="{interval_ms}" data-words="{html.escape("|".join(words))}" '
        f'data-name="{html.escape(name)}" id="pacer-{id}"><p>{plain}</p></div>'
    )


def practice_html(
    steps: Sequence[tuple[str, str, bool]],
    *,
    skill: str,
    revision: str,
    ladder: Sequence[Mapping[str, Any]] = (),
    roles: Sequence[Mapping[str, str]] = (),
) -> str:
    """A practice checklist as a page renders it: `steps` are id, text and whether critical."""
    extra = ""
    if ladder:
        extra += f' data-ladder="{html.escape(json.dumps(list(ladder)))}"'
    if roles:
        extra += f' data-roles="{html.escape(json.dumps(list(roles)))}"'
    rows = "".join(
        f'<label class="rb-tick"{" data-critical" if critical else ""}><input type="checkbox" name="{id}">'
        f'<span class="rb-tick-box" aria-hidden="true"></span><span class="rb-tick-text">'
        f"{'<strong>Critical:</strong> ' if critical else ''}{html.escape(text)}</span></label>"
        for id, text, critical in steps
    )
    return f'<form class="rb-practice" data-skill="{skill}" data-revision="{revision}"{extra}>{rows}</form>'


def write_page(folder: Path, name: str, *body: str) -> None:
    """Write one small page that links the shipped scripts and styles, and those files beside it."""
    assets = files("generator") / "rendering" / "assets"
    for asset in ASSETS:
        (folder / asset).write_bytes((assets / asset).read_bytes())
    (folder / "page.css").write_text(
        ":root{color-scheme:light;--rb-ink:#111;--rb-paper:#fff}"
        "@media (prefers-color-scheme:dark){:root{color-scheme:dark;--rb-ink:#f2f2f2;--rb-paper:#161616}}"
        "body{margin:0 auto;max-width:45rem;padding:1rem;font:18px/1.45 sans-serif;"
        "color:var(--rb-ink);background:var(--rb-paper)}",
        encoding="utf-8",
    )
    (folder / name).write_text(
        '<!doctype html><html lang="en"><head><meta charset="utf-8"><title>Scripts</title>'
        '<link rel="icon" href="data:,"><meta name="viewport" content="width=device-width,initial-scale=1">'
        '<link rel="stylesheet" href="page.css"><link rel="stylesheet" href="pacer.css">'
        '<link rel="stylesheet" href="practice.css"><link rel="stylesheet" href="choices.css">'
        "</head><body><main><h1>Scripts</h1>"
        f"{''.join(body)}</main>"
        '<script src="pacer.js"></script><script src="practice.js"></script></body></html>',
        encoding="utf-8",
    )
