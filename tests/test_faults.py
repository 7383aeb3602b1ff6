"""What can go wrong around a build: full and read-only disks, killed and rival builds, clocks, locales, odd paths.

In every case the last good site survives, and the message says what to do.
"""

from __future__ import annotations

import errno
import filecmp
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from contextlib import suppress
from datetime import date
from pathlib import Path

import pytest
from tiny_handbook import built, laid_out, words

from generator.build import placing
from generator.cli import main
from generator.rendering.sheets import typesetter

RUN = "import sys; from generator.cli import run; sys.argv[0] = 'rungbook'; run()"


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = laid_out(tmp_path / "book")
    monkeypatch.chdir(folder)
    return folder


def everything(site: Path) -> dict[str, bytes]:
    return {path.relative_to(site).as_posix(): path.read_bytes() for path in site.rglob("*") if path.is_file()}


def leftovers(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.startswith(".site"))


def start(book: Path, *more: str, **environment: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", RUN, *words(book, *more)],
        cwd=book, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, **environment},
    )  # fmt: skip


class FullDisk:
    """Every write by Path after the first few fails as on a full disk."""

    def __init__(self, patch: pytest.MonkeyPatch, after: int) -> None:
        self.left = after
        self.writes = 0
        for name in ("write_bytes", "write_text", "mkdir"):
            self._wrap(patch, Path, name)
        self._wrap(patch, os, "makedirs")
        self._wrap(patch, shutil, "copyfile")
        self._wrap(patch, os, "fdopen")

    def _wrap(self, patch: pytest.MonkeyPatch, owner: object, name: str) -> None:
        real = getattr(owner, name)

        def write(*args, **kwargs):
            if name == "fdopen" and not any("w" in str(one) for one in args[1:]):
                return real(*args, **kwargs)
            self.writes += 1
            if self.writes > self.left:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(args[0]))
            return real(*args, **kwargs)

        patch.setattr(owner, name, write)


def test_a_disk_that_fills_at_any_write_leaves_the_last_good_site(
    book: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = everything(built(book, "--no-sheets"))
    with monkeypatch.context() as patch:
        whole = FullDisk(patch, after=10**9)
        built(book, "--no-sheets")
    assert whole.writes > 50
    failed = 0
    for after in sorted(random.Random(1).sample(range(whole.writes), 12)):
        with monkeypatch.context() as patch:
            FullDisk(patch, after)
            code = main(words(book, "--no-sheets"))
        said = capsys.readouterr().err
        failed += code == 3
        # What is only kept for speed may fail in silence; then the build went on.
        assert (code, "Free some space" in said) in ((3, True), (0, False)), (after, said)
        assert "Traceback" not in said
        assert everything(book / "site") == before
        assert leftovers(book) == []
    assert failed >= 10


def test_a_file_size_limit_stops_a_real_build_and_keeps_the_site(book: Path) -> None:
    before = everything(built(book, "--no-sheets"))
    done = subprocess.run(
        ["bash", "-c", f'ulimit -f 64; exec "{sys.executable}" -c "$0" "$@"', RUN, *words(book, "--no-sheets")],
        cwd=book, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 3
    assert "Raise the limit" in done.stderr
    assert "Traceback" not in done.stderr
    assert everything(book / "site") == before
    assert leftovers(book) == []


def test_a_target_that_cannot_be_written(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    if os.geteuid() == 0:  # to whom no folder is closed: a file in the way of the folder stands for it
        (book / "closed").write_text("a file", encoding="utf-8")
        expected = "Move it away, or name another folder"
    else:
        (book / "closed").mkdir(mode=0o555)
        expected = "Ask for the right to"
    assert main(words(book, "--no-sheets", site="closed/site")) == 3
    assert expected in capsys.readouterr().err


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES])
def test_a_read_only_disk_is_told(
    book: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], number: int
) -> None:
    before = everything(built(book, "--no-sheets"))

    def refuse(*args: object, **kwargs: object) -> str:
        raise OSError(number, os.strerror(number), str(book))

    monkeypatch.setattr(placing.tempfile, "mkdtemp", refuse)
    assert main(words(book, "--no-sheets")) == 3
    said = capsys.readouterr().err
    assert "name" in said.lower() and "folder" in said
    assert everything(book / "site") == before


BUILDER = """
import os, signal, sys
from pathlib import Path
from generator.cli import main

def build(words):
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    return main(words)

told = os.fdopen(os.dup(1), "w", buffering=1)
# The first build fills the store; the next loads what is loaded late. The typesetter starts threads, which do not
# survive a fork, so it is only loaded here.
if not (first := os.fork()):
    os._exit(build(sys.argv[1:]))
os.waitpid(first, 0)
build([*sys.argv[1:], "--no-sheets"])
import typst
for line in sys.stdin:
    most, left = int(line), [int(line)]
    ready, go = os.pipe()
    child = os.fork()
    if not child:
        def hook(event, args):
            if event.startswith(("open", "os.", "shutil.", "tempfile.", "ctypes.")):
                left[0] -= 1
                if left[0] == 0:
                    os.kill(os.getpid(), signal.SIGKILL)
        os.close(go)
        os.read(ready, 1)
        if most >= 0:
            sys.addaudithook(hook)
        code = build(sys.argv[1:])
        if not most:
            told.write(f"{most - left[0]}\\n")
        os._exit(code)
    told.write(f"{child}\\n")
    os.write(go, b"x")
    _, status = os.waitpid(child, 0)
    os.close(go), os.close(ready)
    told.write(f"{status}\\n")
"""
"""A process that has all of Rungbook loaded and forks a child for each build: the child is a whole, real build.

A line `n` starts one. It tells the child's id, and at the end how it ended. The child kills itself at its n-th event
that touches a file; where n is 0 it tells how many there were, and where it is negative it does not look.
"""


class Builder:
    """The builds of one handbook, each in a process of its own that can be killed."""

    def __init__(self, book: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", BUILDER, *words(book)],
            cwd=book, text=True, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        )  # fmt: skip

    def _read(self) -> int:
        assert self.process.stdout is not None
        return int(self.process.stdout.readline())

    def begin(self, event: int = 0) -> int:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{event}\n")
        self.process.stdin.flush()
        return self._read()

    def whole(self) -> int:
        """A build that nobody kills; the number of its events."""
        self.begin()
        events = self._read()
        assert self._read() == 0
        return events

    def killed_after(self, seconds: float) -> bool:
        """A build that is killed from outside; False when it was done before."""
        child = self.begin(-1)
        time.sleep(seconds)
        with suppress(ProcessLookupError):
            os.kill(child, signal.SIGKILL)
        return self._read() == signal.SIGKILL

    def killed_at(self, event: int) -> None:
        """A build that ends at an event, as if its plug was pulled."""
        self.begin(event)
        assert self._read() == signal.SIGKILL

    def close(self) -> None:
        self.process.communicate()


def test_killed_at_fifty_moments(book: Path) -> None:
    """Whole builds, PDFs too, killed at 50 moments: 25 by the clock, 25 at events of files up to the very last.

    Before each the curriculum changes, so a site is the one before or the one after, to the byte, and nothing else.
    """
    skill = book / "curriculum" / "skills" / "airway" / "mask-breath.yaml"
    typed = skill.read_text(encoding="utf-8")
    texts = typed, re.sub(r"(?m)^title: (.*)$", r"title: \1 again", typed)
    assert texts[0] != texts[1]
    builder = Builder(book)
    sites, took = [], []
    for text in (*texts, *texts):  # a site remembers the sheets printed before, so both texts are built once first
        skill.write_text(text, encoding="utf-8")
        begun = time.monotonic()
        events = builder.whole()
        took.append(time.monotonic() - begun)
        sites.append(everything(book / "site"))
    sites, takes = sites[2:], max(took[2:])
    assert sites[0] != sites[1]
    assert sum(name.endswith(".pdf") for name in sites[0]) > 20
    assert events > 300
    chance = random.Random(7)
    by_clock = [takes * (turn + chance.random()) / 25 for turn in range(25)]
    by_event = [*(int(events * (turn + chance.random()) / 10) + 1 for turn in range(10)), *range(events - 15, events)]
    moments = chance.sample([*by_clock, *by_event], 50)
    killed, seen = 0, Counter[int]()
    for turn, moment in enumerate(moments):
        now = turn % 2
        skill.write_text(texts[now], encoding="utf-8")
        if isinstance(moment, float):
            killed += builder.killed_after(moment)
        else:
            builder.killed_at(moment)
            killed += 1
        found = everything(book / "site")
        whole = [number for number, site in enumerate(sites) if site == found]
        assert whole, (turn, moment, [[k for k in {**site, **found} if site.get(k) != found.get(k)] for site in sites])
        seen[whole[0] ^ now] += 1
        if turn % 10 == 9:
            builder.whole()
            assert everything(book / "site") == sites[now], turn
            assert leftovers(book) == []
    builder.close()
    assert killed > 25, "moments by the clock lie within the builds too, on a busy machine as well"
    assert seen[1] >= 12, "most builds left the site before them"


PLACE = """
import importlib.util, pathlib, sys
spec = importlib.util.spec_from_file_location("placing", sys.argv[1])
placing = importlib.util.module_from_spec(spec)
spec.loader.exec_module(placing)
print("ready", flush=True)
while True:
    with placing.fresh_folder(pathlib.Path(sys.argv[2])) as fresh:
        for number in range(30):
            (fresh / f"{number}.html").write_text("x" * 1000)
        placing.place(fresh, pathlib.Path(sys.argv[2]))
"""


def test_the_placing_is_whole_when_it_is_killed(tmp_path: Path) -> None:
    site = tmp_path / "site"
    chance = random.Random(3)
    for turn in range(40):
        command = [sys.executable, "-S", "-c", PLACE, str(placing.__file__), str(site)]
        process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        time.sleep(0.02 + chance.random() * 0.03)
        process.send_signal(signal.SIGKILL)
        process.communicate()
        assert site.is_dir() or turn < 5
        assert not site.exists() or len(list(site.glob("*.html"))) == 30
    with placing.fresh_folder(site) as fresh:
        assert leftovers(tmp_path) == [fresh.name]


def test_leftovers_of_running_and_of_other_machines_builds_stay(tmp_path: Path) -> None:
    site = tmp_path / "site"
    running = tmp_path / f".site-new-{placing._machine()}-{os.getpid()}-abc"
    foreign = tmp_path / ".site-new-000000-1-abc"
    old = tmp_path / ".site-new-000000-2-abc"
    own = tmp_path / ".site-notes"
    for folder in (running, foreign, old, own):
        folder.mkdir()
    os.utime(old, (0, 0))
    os.utime(own, (0, 0))
    placing.clear_leftovers(site)
    assert leftovers(tmp_path) == sorted((running.name, foreign.name, own.name))


def test_a_site_lost_between_two_renames_is_put_back(tmp_path: Path) -> None:
    lost = tmp_path / ".site-old-000000-1-abc" / "site"
    lost.mkdir(parents=True)
    (lost / "index.html").write_text("last good", encoding="utf-8")
    placing.recover(tmp_path / "site")
    assert (tmp_path / "site" / "index.html").read_text(encoding="utf-8") == "last good"


def test_without_the_one_step_exchange_the_swap_still_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(placing, "_exchanged", lambda one, other: False)
    site = tmp_path / "site"
    for text in ("first", "second"):
        with placing.fresh_folder(site) as fresh:
            (fresh / "index.html").write_text(text, encoding="utf-8")
            placing.place(fresh, site)
        assert (site / "index.html").read_text(encoding="utf-8") == text
        assert leftovers(tmp_path) == []


def test_two_builds_at_once_both_end_well(book: Path) -> None:
    before = everything(built(book, "--no-sheets"))
    rivals = [start(book, "--no-sheets") for _ in range(2)]
    for rival in rivals:
        _, said = rival.communicate()
        assert rival.returncode == 0, said
    assert everything(book / "site") == before
    assert leftovers(book) == []


def test_a_missing_font_is_told(tmp_path: Path) -> None:
    fonts = Path(shutil.copytree(typesetter._FONTS, tmp_path / "fonts"))
    typesetter.need_fonts(fonts)
    next(fonts.glob("*700Bold.ttf")).unlink()
    with pytest.raises(FileNotFoundError, match="install Rungbook again"):
        typesetter.need_fonts(fonts)


@pytest.mark.parametrize(
    "environment",
    [
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "TZ": "Pacific/Kiritimati"},
        {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8", "TZ": "America/Anchorage"},
    ],
    ids=["C", "Turkish"],
)
def test_locale_zone_path_and_line_ends_change_nothing(tmp_path: Path, environment: dict[str, str]) -> None:
    """A folder with spaces and non-Latin letters, files with Windows line ends, another locale and time zone."""
    plain = laid_out(tmp_path / "plain")
    odd = laid_out(tmp_path / "Übung 手順 folder")
    for path in (odd / "curriculum").rglob("*"):
        if path.suffix in (".yaml", ".md"):
            path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    runs = [start(plain, "--no-sheets"), start(odd, "--no-sheets", **environment)]
    for run in runs:
        _, said = run.communicate()
        assert run.returncode == 0, said
        assert "Traceback" not in said
    assert everything(odd / "site") == everything(plain / "site")


def test_problems_can_be_told_in_a_locale_that_lacks_the_letters(book: Path) -> None:
    skill = book / "curriculum" / "skills" / "airway" / "mask-breath.yaml"
    skill.write_text(skill.read_text(encoding="utf-8").replace("strand: airway", "strand: 手順é"), encoding="utf-8")
    run = start(book, "--no-sheets", LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    _, said = run.communicate()
    assert run.returncode == 1, said
    assert "\\u624b\\u9806" in said
    assert "Traceback" not in said


def test_two_days_give_the_same_site_and_the_same_zip(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing falls due between these days, so nothing differs. The engine takes its clock from the environment."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "946684799")
    one = built(book, "--zip", site="one", on="2026-03-01")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    other = built(book, "--zip", site="other", on="2026-03-02")
    first, second = everything(one), everything(other)
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []
    shutil.copyfile(book / "one.zip", book / "kept.zip")
    built(book, "--zip", site="one", on="2026-03-02")
    assert filecmp.cmp(book / "one.zip", book / "kept.zip", shallow=False)


@pytest.mark.parametrize("day", ["1999-12-31", "1970-01-01", "2099-12-31"])
def test_a_clock_that_is_far_off_stops_nothing_with_a_traceback(
    book: Path, capsys: pytest.CaptureFixture[str], day: str
) -> None:
    date.fromisoformat(day)
    code = main(words(book, "--no-sheets", on=day))
    said = capsys.readouterr().err
    assert "Traceback" not in said
    assert code in (0, 1)
    # Before its own sources were published a handbook cannot be judged; the message names the day.
    assert (code == 1) == ("error" in said)
