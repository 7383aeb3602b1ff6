"""Measure Rungbook's main job on a large invented curriculum, in one run, and write RESULTS.md.

    python tests/bench/bench_build.py

What is measured, each command in a process of its own, with its peak memory from `wait4`:

- the site without PDFs, against plain MkDocs with Material on the same Markdown (`rungbook pages`), in turns;
- sheets per second from an empty store, and a second run, which must write nothing into the store;
- the served page after one edit, from the edit to the new words in the page, against a clean build;
- `rungbook check` on many skills.

Medians stand in the table; the single times stand below it. `--quick` tries the whole thing in about a minute.
"""

from __future__ import annotations

import argparse
import math
import os
import platform
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Sequence
from dataclasses import dataclass, field
from importlib.metadata import version
from itertools import pairwise
from pathlib import Path

import yaml
from synthetic import ROOT, make_curriculum

RUNGBOOK = [sys.executable, "-c", "from generator.cli import run; run()"]
MKDOCS = [sys.executable, "-m", "mkdocs"]
DAY = "2026-11-25"
"""Every run judges by the same day, so that overdue reviews do not change what is written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One finished process."""

    seconds: float
    processor_seconds: float
    """User and system time: steadier than the clock on a machine that does other work too."""
    peak_mib: float
    """Largest resident set of the process or of any process that it waited for."""


@dataclass(slots=True)
class Times:
    """Runs of one command."""

    runs: list[Run] = field(default_factory=list)

    @property
    def seconds(self) -> float:
        """Median."""
        return statistics.median(run.seconds for run in self.runs)

    @property
    def processor_seconds(self) -> float:
        """Median."""
        return statistics.median(run.processor_seconds for run in self.runs)

    @property
    def peak_mib(self) -> float:
        """Largest."""
        return max(run.peak_mib for run in self.runs)

    def __str__(self) -> str:
        return ", ".join(f"{run.seconds:.2f}" for run in self.runs)


def run(words: Sequence[str], folder: Path) -> Run:
    """Run a command to its end in `folder`; SystemExit with what it printed when it fails."""
    with tempfile.TemporaryFile() as output:
        started = time.perf_counter()
        process = subprocess.Popen(words, cwd=folder, stdout=output, stderr=subprocess.STDOUT)
        _, status, usage = os.wait4(process.pid, 0)
        seconds = time.perf_counter() - started
        process.returncode = os.waitstatus_to_exitcode(status)
        if process.returncode:
            output.seek(0)
            raise SystemExit(f"{' '.join(words[3:])} failed:\n{output.read().decode(errors='replace')[-4000:]}")
    return Run(seconds=seconds, processor_seconds=usage.ru_utime + usage.ru_stime, peak_mib=usage.ru_maxrss / 1024)


def plain_config(folder: Path) -> Path:
    """Write a configuration without our plugin and templates: the same theme, features and extensions."""
    config = yaml.safe_load((folder / "mkdocs.yml").read_text(encoding="utf-8"))
    config["docs_dir"], config["site_dir"] = "plain-docs", "plain-site"
    config["plugins"] = [plugin for plugin in config["plugins"] if "rungbook" not in plugin]
    config["theme"].pop("custom_dir", None)
    target = folder / "plain.yml"
    target.write_text(yaml.safe_dump(config, sort_keys=False), encoding="utf-8")
    return target


def measure_site(folder: Path, repeats: int) -> tuple[Times, Times, int]:
    """Time our build and the plain one in turns; also the number of pages."""
    run([*RUNGBOOK, "pages", "--on", DAY, "--out", "plain-docs"], folder)
    plain_config(folder)
    ours, plain = Times(), Times()
    for _ in range(repeats):
        shutil.rmtree(folder / "site", ignore_errors=True)
        shutil.rmtree(folder / "plain-site", ignore_errors=True)
        ours.runs.append(run([*RUNGBOOK, "build", "--no-sheets", "--on", DAY], folder))
        plain.runs.append(run([*MKDOCS, "build", "--quiet", "-f", "plain.yml"], folder))
    made = {name: _pages_in(folder / name) for name in ("site", "plain-site")}
    if made["site"] != made["plain-site"]:
        raise SystemExit(f"the two sites differ in pages, so their times do not compare: {made}")
    return ours, plain, made["site"]


def _pages_in(folder: Path) -> int:
    return sum(1 for _ in folder.rglob("*.html"))


def measure_sheets(folder: Path) -> tuple[Run, Run, int, int]:
    """Time the sheets from an empty store and again; also the PDFs made and the files that the second run wrote."""
    store = folder / ".rungbook"
    shutil.rmtree(store, ignore_errors=True)
    first = run([*RUNGBOOK, "print", "--out", "sheets"], folder)
    made = sum(1 for _ in (folder / "sheets").glob("*.pdf"))
    before = _stamps(store)
    if not before:
        raise SystemExit("the store is empty after a first run, so a second one would prove nothing")
    second = run([*RUNGBOOK, "print", "--out", "sheets"], folder)
    after = _stamps(store)
    return first, second, made, sum(after[path] != before.get(path) for path in after)


def _stamps(folder: Path) -> dict[Path, tuple[int, int]]:
    return {path: (path.stat().st_mtime_ns, path.stat().st_ino) for path in folder.rglob("*") if path.is_file()}


def measure_reload(folder: Path, repeats: int) -> Times:
    """Serve without PDFs, change a skill's summary, and time from the edit until the page shows the new words."""
    config = yaml.safe_load((folder / "mkdocs.yml").read_text(encoding="utf-8"))
    for plugin in config["plugins"]:
        if "rungbook" in plugin:
            plugin["rungbook"]["sheets"] = False
    (folder / "serve.yml").write_text(yaml.safe_dump(config, sort_keys=False), encoding="utf-8")
    skill = sorted((folder / "curriculum" / "skills").rglob("*.yaml"))[0]
    page = f"skills/{skill.parent.name}/{skill.stem}.html"
    original = skill.read_text(encoding="utf-8")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        address = f"127.0.0.1:{free.getsockname()[1]}"
    waits: list[float] = []
    with (folder / "serve.log").open("w") as log:
        server = subprocess.Popen(
            [*RUNGBOOK, "serve", "--config", "serve.yml", "--address", address], cwd=folder, stdout=log, stderr=log
        )
        try:
            _wait_for(f"http://{address}/{page}", "", server)
            for number in range(repeats):
                words = f"Edit number {number} of the benchmark."
                started = time.perf_counter()
                skill.write_text(original.replace("\nsummary: ", f"\nsummary: {words} ", 1), encoding="utf-8")
                _wait_for(f"http://{address}/{page}", words, server)
                waits.append(time.perf_counter() - started)
        finally:
            server.terminate()
            _, _, usage = os.wait4(server.pid, 0)
            server.returncode = 0
            skill.write_text(original, encoding="utf-8")
    # The processor time of single edits inside one server is not known: only the clock counts here.
    return Times([Run(seconds=wait, processor_seconds=math.nan, peak_mib=usage.ru_maxrss / 1024) for wait in waits])


def _wait_for(address: str, words: str, server: subprocess.Popen[bytes], limit: float = 300) -> None:
    started = time.perf_counter()
    while time.perf_counter() - started < limit:
        if server.poll() is not None:
            raise SystemExit(f"the server stopped with {server.returncode}")
        try:
            with urllib.request.urlopen(address, timeout=60) as answer:
                if words in answer.read().decode():
                    return
        except (urllib.error.URLError, TimeoutError, ConnectionError):
            pass
        time.sleep(0.02)
    raise SystemExit(f"{address} did not show {words!r} within {limit:.0f} s")


def measure_check(folder: Path, repeats: int) -> Times:
    """Time `rungbook check` on its own."""
    times = Times()
    for _ in range(repeats):
        times.runs.append(run([*RUNGBOOK, "check", "--on", DAY], folder))
    return times


def report(options: argparse.Namespace, folder: Path) -> str:
    """Measure everything in `folder` and return the text of RESULTS.md."""
    day, many = folder / "day", folder / "many"
    make_curriculum(day, skills=options.skills, seed=options.seed)
    make_curriculum(many, skills=options.check_skills, seed=options.seed)
    _say("start-up")
    helped = Times([run([*RUNGBOOK, "--help"], folder) for _ in range(max(options.repeats, 3))])
    sites = []
    for skills in options.also:
        _say(f"site, {skills} skills")
        other = folder / f"site-{skills}"
        make_curriculum(other, skills=skills, seed=options.seed)
        sites.append((skills, *measure_site(other, options.repeats)))
        shutil.rmtree(other)
    _say("site")
    ours, plain, pages = measure_site(day, options.repeats)
    sites = sorted([*sites, (options.skills, ours, plain, pages)], key=lambda one: one[0])
    _say("reload")
    edit = measure_reload(day, options.repeats)
    _say("sheets")
    first, second, made, written = measure_sheets(day)
    _say("check")
    checked = measure_check(many, options.repeats)
    by_size = "\n".join(
        f"| our site over plain MkDocs, {skills} skills, median of pairs: seconds, processor seconds "
        f"(goal: at most 1.15, better 1.10) | "
        f"{_ratio(one, other, 'seconds')}, {_ratio(one, other, 'processor_seconds')} |\n"
        f"| our processor seconds per page, {skills} skills | {one.processor_seconds / made_pages:.4f} |"
        for skills, one, other, made_pages in sites
    )
    by_page = "\n".join(
        f"| our processor seconds for each page more, from {a[0]} to {b[0]} skills (goal: flat) | "
        f"{(b[1].processor_seconds - a[1].processor_seconds) / (b[3] - a[3]):.4f} |"
        for a, b in pairwise(sites)
    )
    words = " --quick" if options.quick else f" --also {' '.join(map(str, options.also))} --repeats {options.repeats}"
    rows = [
        ("`rungbook --help` (goal: under 0.15)", helped),
        *(
            row
            for skills, one, other, made_pages in sites
            for row in (
                (f"site, {skills} skills, {made_pages} pages, no PDFs: `rungbook build --no-sheets`", one),
                (f"the same Markdown, {skills} skills: plain `mkdocs build` with Material", other),
            )
        ),
        (f"sheets from an empty store: `rungbook print`, {made} PDFs", Times([first])),
        ("sheets again, nothing changed", Times([second])),
        ("`rungbook serve`: from an edit to the new words in the page", edit),
        (f"`rungbook check`, {options.check_skills} skills", checked),
    ]
    table = "\n".join(
        f"| {what} | {times.seconds:.2f} | {_shown(times.processor_seconds)} | {times.peak_mib:.0f} | {times} |"
        for what, times in rows
    )
    libraries = ", ".join(f"{name} {version(name)}" for name in ("mkdocs", "mkdocs-material", "typst", "pydantic"))
    return f"""# Benchmark results

Made by `python tests/bench/bench_build.py{words}` (seed {options.seed}, {options.repeats} repeats, in turns).
The curriculum is the shipped one with its skills copied under invented names.

Machine: {os.cpu_count()} cores, {platform.machine()}, {platform.system()}, Python {platform.python_version()},
{libraries}. Load average at the end: {os.getloadavg()[0]:.1f} (much more than 1 means that other work ran beside it:
then trust the processor seconds).

| what | seconds, median | processor seconds, median | peak memory, MiB | single times, in order |
|---|---|---|---|---|
{table}

| ratio or count | value |
|---|---|
{by_size}
{by_page}
| sheets per second, start of the program included (goal: at least 40) | {made / first.seconds:.1f} |
| files that the second run of the sheets wrote into the store (must be 0) | {written} |
| one-edit reload over a clean `rungbook build --no-sheets` (goal: at most 0.20) | {edit.seconds / ours.seconds:.2f} |
"""


def _ratio(ours: Times, plain: Times, what: str) -> str:
    pairs = zip(ours.runs, plain.runs, strict=True)
    return f"{statistics.median(getattr(one, what) / getattr(other, what) for one, other in pairs):.2f}"


def _shown(seconds: float) -> str:
    return "" if math.isnan(seconds) else f"{seconds:.2f}"


def _say(what: str) -> None:
    print(f"measuring: {what}", file=sys.stderr, flush=True)


def main() -> None:
    """Measure and write the results."""
    parser = argparse.ArgumentParser(description="Measure Rungbook's main job.")
    parser.add_argument("--skills", type=int, default=200, help="skills of the site and the sheets")
    parser.add_argument("--also", type=int, nargs="*", default=[50, 1000], help="more sizes of the site to measure")
    parser.add_argument("--check-skills", type=int, default=1000, help="skills of the check")
    parser.add_argument("--repeats", type=int, default=3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--out", type=Path, default=Path(__file__).with_name("RESULTS.md"))
    parser.add_argument(
        "--quick", action="store_true", help="80 and 90 skills, one repeat: to try the benchmark itself"
    )
    options = parser.parse_args()
    if options.quick:
        options.skills, options.check_skills, options.repeats, options.also = 80, 90, 1, []
    if not (ROOT / "curriculum").is_dir():
        raise SystemExit("run this from a checkout: it copies the shipped curriculum")
    with tempfile.TemporaryDirectory(prefix="rungbook-bench-") as scratch:
        text = report(options, Path(scratch))
    options.out.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
