"""Words that an instruction begins with, and what tells a verb from a noun.

Lists of plain hands-on English. A word that is not listed is judged by what follows it, so nobody has to add to them.
"""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


VERBS = _words(
    """
    activate adapt add adjust administer advance align allow announce apply appoint arrange ask assemble assess
    assign assist attach auscultate avoid begin bend bring calculate carry choke choose cleanse click close
    collect combine come compare complete compress confirm connect consider continue correct create decide
    defibrillate deflate deliver describe detach determine discard disconnect dispose do document don elevate
    empty encircle encourage enter establish evaluate examine expand expose extend fasten fetch find flatten
    flex flick follow gather get give greet handle hang hear hyperextend identify ignore immobilise immobilize
    inflate inform inject insert inspect instruct interlock introduce intubate invite irrigate join kneel know
    lay lean learn leave lengthen let lie listen locate loosen lower lubricate maintain make measure meet mix
    moisten monitor move nebulize notify observe obtain occlude offer open oxygenate palpate peel perform pinch
    preoxygenate prepare prevent prime proceed protect provide puncture put raise reach reassess reassure
    reattach recap recheck recognise recognize reconnect reconsider redirect reduce refer reinflate reinsert
    remain remind remove replace reposition reseal resume resuscitate retract reveal rinse rise rotate say scan
    scoop screw secure see select send separate shake shave shorten show sit slip smooth speak spread stabilise
    stabilize state stay sterilize straighten strip take tell tighten titrate treat unclamp uncover undo unfold
    unlock unroll unscrew untie unwrap use ventilate verify wait warn wear weigh wipe withdraw withhold write
    """
)
"""Verbs that are hardly ever nouns after `and`."""

ALSO_NOUNS = _words(
    """
    address aim alert answer approach back bag balance band bandage brace breath breathe call catch change
    charge check clamp clean clear clip coach color control cool count cover cross curl cushion cut cycle
    debrief dial direct drain draw dress drive drop dry ease end estimate exchange exhale exit face feed feel
    file fill finish fit fix flip flow flush focus force frame free go grab grade grasp grip guard guide hand
    head help hold hook indicate inhale invert item judge keep label lead leak level lift light lighten line
    load lock look loop mark mask massage match mind name need note number order pack pad pair part pass pause
    pick pinpoint place plan plug point pool position post pour press pressure probe pull pulse pump push
    question range rate read record release repeat report request rescue rest return ring rock roll route rub
    run score scratch scrub seal search seat set share shift shock shout shut sign signal size slide snap spike
    splint split spot spray squeeze squirt stage stand start step stick stop store strap stretch stroke suction
    supply support swab swap sweep swing switch talk tap tape test thread thrust tie tilt time tip top touch
    trace track trade train transfer transport trap trim tuck turn twist vent view visit void walk warm wash
    watch wrap zero
    """
)
"""Verbs that are nouns as often: after `and` they count as verbs only when something is done to a thing."""

EVERY_VERB = VERBS | ALSO_NOUNS

LEADS = _words(
    """
    if when once after before until unless while during as in for with without on at from by under over through
    between each every whenever where because since using
    """
)
"""Words that open a condition or manner ahead of the action."""

OBJECT = (
    r"(?:the|a|an|it|them|him|her|its|their|his|your|both|each|every|all|any|one|two|three|no|another|this|that|these|"
    r"those|\{[a-z0-9-]+\})\b"
)
"""What a verb acts on starts with one of these."""

_QUOTED = re.compile(r"“[^”]*”|\"[^\"]*\"|‘[^’]*’|\([^()]*\)")
_SENTENCE_END = re.compile(r"(?<=[.!?;])\s+(?=\S)")
_CLAUSE = re.compile(
    r"\b(?:until|while|so|that|which|who|where|when|if|unless|because|whether|than)\b|\bto (?P<verb>[a-z]+)"
)
_JOINT = re.compile(
    r"(?P<join>,?\s+(?:and then|and|then|but then)\s+|,\s+)"
    r"(?:(?:then|also|now|again|gently|firmly|slowly|quickly|immediately|at once|carefully|[a-z]+ly)\s+)?"
    r"(?P<verb>[a-z][a-z-]*)(?P<after>[^\s\w{]*\s+(?P<next>[\w{][\w{}-]*)?|[^\s\w]*$)"
)
_OBJECT = re.compile(OBJECT, re.IGNORECASE)
_STATING = frozenset({"is", "are", "was", "has", "should", "must", "will", "can"})
_NOT_ORDERS = ("ing", "ed", "tion", "ment", "ness")
_WATCHING = frozenset({"check", "feel", "look", "note", "read", "record", "report", "watch"})
"""Verbs that may be followed by what holds: `check mask is on`, `look for`."""
_SEEKING = frozenset({"call", "feel", "look", "search", "shout", "watch"})


def plain(text: str) -> str:
    """The text without what is quoted or in brackets, which is said or added, not done."""
    return _QUOTED.sub("…", text)


def sentences(text: str) -> tuple[str, ...]:
    """The sentences of a text; a semicolon ends one too."""
    return tuple(part.strip() for part in _SENTENCE_END.split(text.strip()) if part.strip())


def main_part(sentence: str) -> str:
    """A sentence without the condition or manner that a comma sets off at its front: `If it leaks, press` → `press`."""
    words = sentence.split(maxsplit=1)
    if words and words[0].lower().strip(",") in LEADS and "," in sentence:
        return sentence.split(",", 1)[1].strip()
    return sentence


def first_words(sentence: str) -> tuple[str, str]:
    """The word that an instruction begins with, adverbs left out, and the word after it, in small letters."""
    words = [word.strip(".,:;!?…") for word in sentence.lower().split()]
    words = [word for word in words if word]
    while len(words) > 1 and (
        (words[0].endswith("ly") and words[0] != "apply") or words[0] in ("then", "now", "again")
    ):
        words = words[1:]
    return (words[0] if words else "", words[1] if len(words) > 1 else "")


def begins_with_verb(sentence: str) -> bool:
    """Whether an instruction begins with an imperative verb, as far as words can tell.

    A listed verb does; so does any other word with something to act on (`debride the wound`), except endings and
    words that no order has.
    """
    first, second = first_words(sentence)
    if first in ("never", "do", "don't"):
        return True
    if first in EVERY_VERB:
        is_subject = first in ALSO_NOUNS - _WATCHING and not _STATING.isdisjoint(sentence.lower().split()[1:3])
        return second not in _STATING | {"of"} and not is_subject
    if first.endswith(_NOT_ORDERS) or first in LEADS or not first.isalpha() or _OBJECT.match(first):
        return False
    if first.endswith("s") and not first.endswith("ss"):
        return False
    return _OBJECT.fullmatch(second) is not None


def second_action(text: str) -> str | None:
    """The words that start a second action in one instruction, or None.

    Kept careful: a word joined by `and` counts only as a listed verb, those that are nouns too only with something to
    act on; verbs that share one thing (`squeeze and release the bag`), and what follows `until`, `while`, `so that`,
    `to` and the like, are one action with its manner or aim.
    """
    for number, sentence in enumerate(sentences(plain(text))):
        body = main_part(sentence)
        first, second = first_words(body)
        if number and first in EVERY_VERB and (first not in ALSO_NOUNS or _OBJECT.fullmatch(second)):
            if first not in ("do", "avoid", "repeat", "continue", "keep"):
                return _start(body)
            continue
        found = _joined(body)
        if found:
            return found
    return None


def _joined(body: str) -> str | None:
    lowered = body.lower()
    for match in _JOINT.finditer(lowered):
        verb, following = match["verb"], match["next"] or ""
        seeks = verb in _SEEKING and following == "for"
        if verb not in EVERY_VERB or (verb in ALSO_NOUNS and not seeks and not _OBJECT.match(following)):
            continue
        before = lowered[: match.start()]
        if not any(word in EVERY_VERB for word in before.split()[:2]):
            continue
        since_comma = before.rsplit(",", 1)[-1]
        shares_object = all(word.strip(",") in EVERY_VERB for word in before.split())
        if shares_object or any(
            found["verb"] is None or found["verb"] in EVERY_VERB for found in _CLAUSE.finditer(since_comma)
        ):
            continue
        return _start(body[match.start("verb") :])
    return None


def _start(text: str) -> str:
    words = text.split()
    return " ".join(words[:4]).rstrip(".,;") + (" …" if len(words) > 4 else "")
