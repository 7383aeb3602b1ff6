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
import zipfile
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path

import pytest
from tiny_handbook import TODAY, built, laid_out, words

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


IN_A_DISK = """
set -e
mount -t tmpfs -o "size=$SIZE" tmpfs "$DISK"
cp -a "$SITE" "$DISK/site"
[ -z "$READ_ONLY" ] || mount -o remount,ro "$DISK"
set +e
"$@"
code=$?
diff -r "$SITE" "$DISK/site" >&2 || exit 90
[ -z "$(find "$DISK" -maxdepth 1 -name '.site*')" ] || exit 91
exit $code
"""
"""A disk of its own for one process: the last good site lies on it, and a build is to replace that one."""


def on_a_disk(book: Path, disk: Path, size: int, *, read_only: bool = False) -> subprocess.CompletedProcess[str]:
    """A build whose site lies on a small disk, or on one that can only be read."""
    place = {"DISK": str(disk), "SITE": str(book / "site"), "SIZE": f"{size}k", "READ_ONLY": "1" if read_only else ""}
    build = [sys.executable, "-c", RUN, *words(book, "--no-sheets", "--site", str(disk / "site"))]
    return subprocess.run(
        ["unshare", "--mount", "bash", "-c", IN_A_DISK, "bash", *build],
        cwd=book, capture_output=True, text=True, check=False, env={**os.environ, **place},
    )  # fmt: skip


@pytest.fixture
def disk(tmp_path: Path) -> Path:
    """A folder where a disk may be mounted, which takes rights that not every machine gives."""
    (tmp_path / "disk").mkdir()
    tried = ["unshare", "--mount", "mount", "-t", "tmpfs", "tmpfs", str(tmp_path / "disk")]
    if shutil.which("unshare") is None or subprocess.run(tried, capture_output=True, check=False).returncode:
        pytest.skip("no disk may be mounted here")
    return tmp_path / "disk"


def test_a_real_disk_that_is_full_keeps_the_site(book: Path, disk: Path) -> None:
    built(book, "--no-sheets")
    # What a file takes on this disk: whole pages.
    whole = sum(-(-path.stat().st_size // 4096) * 4 for path in (book / "site").rglob("*") if path.is_file())
    for part in (1.01, 1.3, 1.6, 1.9):
        done = on_a_disk(book, disk, int(whole * part))
        assert done.returncode == 3, (part, done.stderr)
        assert "Free some space" in done.stderr, (part, done.stderr)
        assert "Traceback" not in done.stderr
    roomy = on_a_disk(book, disk, int(whole * 2.5))
    assert roomy.returncode == 0, "where there is room the same build succeeds"


def test_a_real_disk_that_can_only_be_read_keeps_the_site(book: Path, disk: Path) -> None:
    built(book, "--no-sheets")
    done = on_a_disk(book, disk, 100_000, read_only=True)
    assert done.returncode == 3, done.stderr
    assert "That disk can only be read. Name a folder that can be written" in done.stderr
    assert "Traceback" not in done.stderr


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


def test_two_builds_of_two_editions_at_once_leave_one_of_them_whole(book: Path) -> None:
    """PDFs and the zip too, both with the same store, empty at first: the last to finish wins, and nothing is mixed."""
    other = Path(shutil.copytree(book / "curriculum", book / "other"))
    skill = other / "skills" / "airway" / "mask-breath.yaml"
    skill.write_text(re.sub(r"(?m)^title: (.*)$", r"title: \1 again", skill.read_text(encoding="utf-8")))
    texts = (), ("--curriculum", str(other))
    sites = []
    for turn in range(4):  # a site remembers the sheets printed before, so both are built once first
        built(book, *texts[turn % 2])
        sites.append(everything(book / "site"))
    assert sites[2] != sites[3]
    for turn in range(3):
        shutil.rmtree(book / ".rungbook")
        rivals = [start(book, "--zip", *text) for text in texts]
        for rival in rivals:
            _, said = rival.communicate()
            assert rival.returncode == 0, said
        found = everything(book / "site")
        assert found in sites[2:], (turn, [name for name in found if found[name] != sites[2].get(name)])
        assert leftovers(book) == []
        with zipfile.ZipFile(book / "site.zip") as archive:
            assert archive.testzip() is None
            packed = {name.split("/", 1)[1]: archive.read(name) for name in archive.namelist()}
        assert any(packed.items() <= site.items() for site in sites[2:]), "the zip is one edition too"


def test_a_missing_font_is_told(tmp_path: Path) -> None:
    fonts = Path(shutil.copytree(typesetter._FONTS, tmp_path / "fonts"))
    typesetter.need_fonts(fonts)
    next(fonts.glob("*700Bold.ttf")).unlink()
    with pytest.raises(FileNotFoundError, match="install Rungbook again"):
        typesetter.need_fonts(fonts)


WITHOUT_A_FONT = """
import sys
from pathlib import Path
from generator.cli import run
from generator.rendering.sheets import typesetter
typesetter._FONTS = Path(sys.argv.pop(1))
sys.argv[0] = "rungbook"
run()
"""


def test_a_build_without_one_of_its_fonts_keeps_the_site(book: Path) -> None:
    before = everything(built(book))
    fonts = Path(shutil.copytree(typesetter._FONTS, book / "fonts"))
    next(fonts.glob("*700Bold.ttf")).unlink()
    skill = book / "curriculum" / "skills" / "airway" / "mask-breath.yaml"
    skill.write_text(re.sub(r"(?m)^title: (.*)$", r"title: \1 again", skill.read_text(encoding="utf-8")))
    done = subprocess.run(
        [sys.executable, "-c", WITHOUT_A_FONT, str(fonts), *words(book)],
        cwd=book, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 3, done.stderr
    assert "A font of the sheets is missing; install Rungbook again" in done.stderr
    assert "Traceback" not in done.stderr
    assert everything(book / "site") == before
    assert leftovers(book) == []


@pytest.fixture(scope="module")
def turkish(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A folder with a Turkish locale, made here where the system has none: with a name alone nothing would change."""
    folder = tmp_path_factory.mktemp("locales")
    if shutil.which("localedef") is None:
        pytest.skip("no localedef")
    made = ["localedef", "-i", "tr_TR", "-f", "UTF-8", str(folder / "tr_TR.UTF-8")]
    if subprocess.run(made, capture_output=True, check=False).returncode:
        pytest.skip("no source of the Turkish locale")
    return str(folder)


ENVIRONMENTS = {
    "C": {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "TZ": "Pacific/Kiritimati"},
    "Turkish": {"LC_ALL": "tr_TR.UTF-8", "LANG": "tr_TR.UTF-8", "TZ": "America/Anchorage"},
}
IN_FORCE = "import locale; locale.setlocale(locale.LC_ALL, ''); print(locale.getlocale()[0], locale.str(1.5))"


@pytest.mark.parametrize("name", ENVIRONMENTS)
def test_locale_zone_path_and_line_ends_change_nothing(
    tmp_path: Path, name: str, request: pytest.FixtureRequest
) -> None:
    """A folder with spaces and non-Latin letters, files with Windows line ends, another locale and time zone.

    PDFs and the zip too.
    """
    environment = dict(ENVIRONMENTS[name])
    if name == "Turkish":
        environment["LOCPATH"] = request.getfixturevalue("turkish")
        said = [sys.executable, "-c", IN_FORCE]
        asked = subprocess.run(said, env={**os.environ, **environment}, capture_output=True, text=True, check=True)
        assert asked.stdout.split() == ["tr_TR", "1,5"], "the locale is really in force"
    plain = laid_out(tmp_path / "plain")
    odd = laid_out(tmp_path / "Übung 手順 folder")
    for path in (odd / "curriculum").rglob("*"):
        if path.suffix in (".yaml", ".md"):
            path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    runs = [start(plain, "--zip"), start(odd, "--zip", **environment)]
    for run in runs:
        _, said = run.communicate()
        assert run.returncode == 0, said
        assert "Traceback" not in said
    assert everything(odd / "site") == everything(plain / "site")
    assert filecmp.cmp(odd / "site.zip", plain / "site.zip", shallow=False)


def test_problems_can_be_told_in_a_locale_that_lacks_the_letters(book: Path) -> None:
    skill = book / "curriculum" / "skills" / "airway" / "mask-breath.yaml"
    skill.write_text(skill.read_text(encoding="utf-8").replace("strand: airway", "strand: 手順é"), encoding="utf-8")
    run = start(book, "--no-sheets", LC_ALL="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0")
    _, said = run.communicate()
    assert run.returncode == 1, said
    assert "\\u624b\\u9806" in said
    assert "Traceback" not in said


def test_two_days_give_the_same_site_and_the_same_zip(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing falls due between these days, so nothing differs. Engine and typesetter could take their clock from the
    environment. Each build has a store of its own, so that no PDF is taken from the other's."""
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "946684799")
    one = built(book, "--zip", site="one", on="2026-03-01")
    shutil.copyfile(book / "one.zip", book / "kept.zip")
    first = everything(one)
    shutil.rmtree(book / ".rungbook")
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790000000")
    other = built(book, "--zip", site="other", on="2026-03-02")
    second = everything(other)
    assert sum(name.endswith(".pdf") for name in first) > 20
    assert first.keys() == second.keys()
    assert [name for name in first if first[name] != second[name]] == []
    built(book, "--zip", site="one", on="2026-03-02")
    assert filecmp.cmp(book / "one.zip", book / "kept.zip", shallow=False)


CLOCK = """
#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdlib.h>
#include <sys/time.h>
#include <time.h>
int clock_gettime(clockid_t id, struct timespec *at) {
  static int (*real)(clockid_t, struct timespec *);
  if (!real) real = dlsym(RTLD_NEXT, "clock_gettime");
  int done = real(id, at);
  if (id == CLOCK_REALTIME || id == CLOCK_REALTIME_COARSE) at->tv_sec += atol(getenv("CLOCK_SHIFT"));
  return done;
}
int gettimeofday(struct timeval *at, void *zone) {
  struct timespec now;
  clock_gettime(CLOCK_REALTIME, &now);
  at->tv_sec = now.tv_sec;
  at->tv_usec = now.tv_nsec / 1000;
  return 0;
}
time_t time(time_t *at) {
  struct timespec now;
  clock_gettime(CLOCK_REALTIME, &now);
  if (at) *at = now.tv_sec;
  return now.tv_sec;
}
"""
"""The C library's clock, moved: the whole process, Python and typesetter, lives in another year."""


@pytest.fixture(scope="module")
def moved_clock(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], dict[str, str]]:
    """`moved_clock(year)`: the environment of a process whose clock tells that year."""
    folder = tmp_path_factory.mktemp("clock")
    (folder / "clock.c").write_text(CLOCK, encoding="utf-8")
    compiler = shutil.which("cc") or shutil.which("gcc")
    command = [str(compiler), "-shared", "-fPIC", "-o", str(folder / "clock.so"), str(folder / "clock.c"), "-ldl"]
    if compiler is None or sys.platform != "linux" or subprocess.run(command, check=False).returncode:
        pytest.skip("no compiler to make another clock with")

    def environment(year: int) -> dict[str, str]:
        shift = str(int(datetime(year, 6, 1).timestamp() - time.time()))
        made = {"LD_PRELOAD": str(folder / "clock.so"), "CLOCK_SHIFT": shift}
        asked = [sys.executable, "-c", "import datetime; print(datetime.date.today().year)"]
        told = subprocess.run(asked, env={**os.environ, **made}, capture_output=True, text=True, check=True)
        assert told.stdout.strip() == str(year), "the clock is really moved"
        return made

    return environment


@pytest.mark.parametrize("year", [1971, 1979, 1999, 2099])
def test_a_machine_whose_clock_is_far_off(book: Path, moved_clock: Callable[[int], dict[str, str]], year: int) -> None:
    """Told the day, it builds the same bytes. Without, it says what is wrong and leaves the last good site."""
    built(book, "--zip")
    before, packed = everything(book / "site"), (book / "site.zip").read_bytes()
    shutil.rmtree(book / ".rungbook")
    clock = moved_clock(year)
    run = start(book, "--zip", **clock)
    _, said = run.communicate()
    assert run.returncode == 0, said
    assert everything(book / "site") == before
    assert (book / "site.zip").read_bytes() == packed
    if year < 2000:
        untold = [word for word in words(book) if word not in ("--on", TODAY)]
        done = subprocess.run(
            [sys.executable, "-c", RUN, *untold],
            cwd=book, capture_output=True, text=True, check=False, env={**os.environ, **clock},
        )  # fmt: skip
        assert done.returncode == 3, done.stderr
        assert f"this machine's clock says {year}-" in done.stderr
        assert "Set the clock" in done.stderr and "--on" in done.stderr
        assert "Traceback" not in done.stderr
        assert everything(book / "site") == before


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
