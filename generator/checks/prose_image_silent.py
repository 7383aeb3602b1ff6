"""An image on a prose page with no text alternative.

Why: a reader who cannot see it, or whose phone has not loaded it, gets nothing (WCAG 2.2, success criterion 1.1.1).

To put it right: say in the square brackets what it shows: `![Thumbs along the mask's rim](seal.png)`.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from generator.checks.support.prose import silent_images
from generator.checks.support.texts import prose_at
from generator.diagnostics import Problem
from generator.model import Curriculum

RULE = "prose-image-silent"


def find(curriculum: Curriculum, today: date) -> Iterator[Problem]:
    """Each image without words."""
    for path, text in curriculum.prose.items():
        for offset, target in silent_images(text):
            yield Problem(
                location=prose_at(curriculum, path, offset),
                rule=RULE,
                message=f"The image `{target}` has no text alternative.",
                remedy="Say in the square brackets what it shows.",
            )
