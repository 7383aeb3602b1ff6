"""The fixed words on sheets. They travel with the data, so a revision covers them too."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from generator.model import Worth

_EVERY: dict[str, str] = {
    "revision": "Revision",
    "page_of": "Page {page} of {pages}",
    "still_current": "Is this print the latest?",
    "how_current": "Scan it: the page names the revision in use.",
    "link_alt": "QR code for the page",
    "must_know": "Know this before hands go on",
    "always": "Always:",
    "local_rule": "Local rule",
    "provisional": "Provisional",
    "number": "No.",
    "critical": "Critical",
}

CHECKLIST: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Evaluator checklist",
        "learner_code": "Learner code (no name)",
        "evaluator_code": "Evaluator code (no name)",
        "date": "Date",
        "which_rung": "Which rung is this? Tick one",
        "scored_by": "Who scores? Tick one",
        "which_role": "Which role has the learner? Tick one",
        "steps": "Steps",
        "step": "What is done, and what you must see",
        "see": "See",
        "attempt": "Attempt",
        "how_to_mark": "Tick: done as “See” says. Empty: missed. One line through the box: you could not see it. "
        "Box filled black: tick taken back.",
        "results": "How each attempt ended",
        "mark_one_each": "Tick one line for each attempt",
        "decides": "What decides",
        "note": "For the debrief: what went well, what to coach next",
        "evaluator_mark": "Evaluator’s mark, by role (no name)",
        "learner_mark": "Learner has heard the result: mark (no name)",
        "differences": "Where bodies differ",
    }
)

PRACTICE: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Practice card",
        "steps": "Steps",
        "step": "Do",
        "cues": "If this happens, say",
        "ladder": "Your ladder",
    }
)

TRAINER: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Trainer card",
        "worths": "What its feedback is worth",
        "worth": "Worth",
        "what_it_shows": "What it shows",
        "limits": "What it cannot show",
        "accepts": "It accepts",
        "accepts_nothing": "Nothing that is fitted to a patient.",
        "cleaning": "Clean it",
        "used_for": "Used for",
    }
)

STATION: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Station guide",
        "station": "Station",
        "steps_here": "Steps",
        "false": "What this trainer does not prove here",
        "proves": "It does prove:",
        "nothing_false": "It proves every technique that a critical step rests on here.",
        "nothing_met": "No critical step here rests on a technique.",
        "brief": "Say this first",
        "prompts": "Minute by minute",
        "minute": "Minute",
        "peers": "Peers, meanwhile",
        "errors": "If this happens, say",
        "set_up": "Before the first group",
        "reset": "Between groups",
        "cleaning": "Clean",
        "supplies": "Used up",
    }
)

POSTER: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Station poster",
        "station": "Station",
        "critical_steps": "Critical steps",
        "no_critical": "No critical step here.",
    }
)

TIMETABLE: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Timetable",
        "time": "Time",
        "block": "Block",
        "whole_day": "Whole day",
        "by_group": "By group",
        "roles": "Who performs in each attempt",
        "by_instructor": "By instructor",
        "by_trainer": "By trainer",
        "verdict": "How good this timetable is",
        "impossible": "There is no timetable for this day",
        "set_up": "Set up, and clean",
        "bring": "Bring for the whole day",
    }
)

WORTH: Mapping[str, str] = MappingProxyType(
    _EVERY
    | {
        "kind": "Worth table",
        "technique": "Technique",
        "step": "Critical step and technique",
        "step_word": "Step",
        "unfit": "no fit",
        "unfit_means": "It does not take what the step puts on or into the patient, or stands for others.",
    }
)

_SCENARIO: dict[str, str] = _EVERY | {
    "stop": "Stop words",
    "seed": "Variant by seed",
    "start": "start",
    "end": "end",
    "over": "moving there over",
    "findings": "What they find",
    "to": "to",
    "noted": "noted",
}

FACILITATOR: Mapping[str, str] = MappingProxyType(
    _SCENARIO
    | {
        "kind": "Facilitator card",
        "brief": "Say this first",
        "scene": "Scene and patient",
        "dispatch": "Dispatch:",
        "numbers": "Worked out for this patient",
        "before": "The crew has passed",
        "untaught": "no lab day teaches this",
        "needed": "What the trainer is really needed for",
        "cheaper": "Cheaper, and as good for most of it:",
        "loses": "What is lost:",
        "bring": "Set out",
        "flow": "Flow",
        "key_action": "the step was done",
        "key_time": "time ran out",
        "key_omission": "the step was not done in time",
        "states": "States",
        "say": "You:",
        "calls_for": "Calls for",
        "all_critical": "all critical",
        "idle": "If nobody acts:",
        "times": "Read from the log first",
        "published": "published:",
        "no_number": "no published number",
        "debrief": "Debrief",
    }
)

PATIENT: Mapping[str, str] = MappingProxyType(
    _SCENARIO
    | {
        "kind": "Patient card",
        "for_you": "For the live actor, or for the operator who is the patient’s voice. "
        "The facilitator shows the number of the state with the fingers.",
        "you_are": "Who you are",
        "answers": "Asked, you answer",
        "other": "Asked anything else: “I do not know.”",
        "states": "How you are, state by state",
    }
)

OBSERVER: Mapping[str, str] = MappingProxyType(
    _SCENARIO
    | {
        "kind": "Observer sheet",
        "for_you": "For peers who watch. Say nothing during the call. Tick what you saw; "
        "leave empty what you did not see.",
        "observer": "Observer code (no name)",
        "group": "Group",
        "date": "Date",
        "steps": "Critical steps, state by state",
        "no_steps": "No critical step is called for here.",
        "clock": "Time",
        "times": "Times to note",
        "from": "from",
        "until": "until",
        "questions": "Bring to the debrief",
        "own": "Your own question, about one moment and what you saw in it",
    }
)

PACKET: Mapping[str, str] = MappingProxyType(
    {
        "page_of": "Packet page {page} of {pages}",
        "empty": "Empty, so that the next sheet starts on a front page.",
    }
)

CAUTION_LEVELS: Mapping[str, str] = MappingProxyType({"warning": "Warning", "caution": "Caution", "note": "Note"})
"""Worst first."""
COMMON_PRACTICE = ", common practice"
"""What follows the level of a caution for which no source was found."""

WORTHS: tuple[tuple[Worth, str, str], ...] = (
    (Worth.GIVEN, "Given", "Do not believe it: this happens whatever the hands do"),
    (Worth.SILENT, "Silent", "It says nothing: a person must watch"),
    (Worth.EARNED, "Earned", "Believe it: this happens only when the hands are right"),
    (Worth.MEASURED, "Measured", "Believe the number: it follows the hands"),
)
"""Worth, its word and its heading; false reassurance first, because it does the harm."""

SCORERS: tuple[tuple[str, str], ...] = (("peer", "Peer"), ("instructor", "Instructor"))

RESULTS: tuple[tuple[str, str, str], ...] = (
    ("clean", "Clean", "every step is ticked"),
    ("not-clean", "Not clean", "a step was missed or not seen, no critical step missed"),
    ("failed", "Failed", "a critical step was missed"),
)
STARTER = "Starter content: no medical director has approved it yet."
