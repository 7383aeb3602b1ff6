"""The Nu Html Checker on every type of page. It needs Java and its jar: RUNGBOOK_VNU names the jar (npm: `vnu-jar`)."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

THE_THEMES = (
    # The theme's own switches and drawers; browsers ignore what the checker refuses.
    r"Attribute “autocomplete” is only allowed when the input type is",
    r"Bad value “” for attribute “tabindex” on element “label”",
    r"The value of the “for” attribute of the “label” element must be the ID of a non-hidden form control",
)


def test_the_nu_checker_finds_no_error_of_ours(handbook: Any) -> None:
    jar = os.environ.get("RUNGBOOK_VNU")
    java = shutil.which("java")
    if java is None or not jar or not Path(jar).is_file():
        pytest.skip("no Java, or RUNGBOOK_VNU does not name vnu.jar")
    pages = [str(handbook.folder / page) for page in handbook.pages.values()]
    command = [java, "-Xss4m", "-jar", jar, "--format", "gnu", "--errors-only", *pages]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    lines = [line for line in done.stderr.splitlines() if ": error: " in line]
    assert lines, "the theme's own errors are always found, so an empty answer means that the checker did not run"
    known = re.compile("|".join(THE_THEMES))
    assert [line for line in lines if not known.search(line)] == []
