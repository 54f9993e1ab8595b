"""The guided change of one channel while the show runs, as a table: what is done or asked, and what follows.

The pack moves first, then the receiver. When the receiver doesn't name the pack within three seconds both go back. A
pack of which nobody can tell whether it moved is looked for on both frequencies, and nothing is sent to it again.
"""

from __future__ import annotations

from enum import StrEnum

from fleet.model.retune import RetunePrompt, RetuneState


class Stage(StrEnum):
    """What is being done, or what the person is asked."""

    OFF_MIC = "off-mic"
    DESK_MUTED = "desk-muted"
    PACK = "pack"
    RECEIVER = "receiver"
    IDENTITY = "identity"
    LOOK = "look"
    BACK = "back"
    LISTEN = "listen"
    UNMUTE = "unmute"
    DONE = "done"
    UNCHANGED = "unchanged"
    ROLLED_BACK = "rolled back"
    UNKNOWN = "unknown"


class Happening(StrEnum):
    """What was answered, or came of what was done."""

    YES = "yes"
    NO = "no"
    OLD = "old"
    NEW = "new"
    NEITHER = "neither"
    CONFIRMED = "confirmed"
    REFUSED = "refused"
    UNKNOWN = "unknown"
    NAMED = "the receiver names the pack"
    NOT_NAMED = "the receiver names no pack in three seconds"
    NOT_TOLD = "the receiver names no packs at all"


_S = Stage
_H = Happening

TRANSITIONS: dict[Stage, dict[Happening, Stage]] = {
    _S.OFF_MIC: {_H.YES: _S.DESK_MUTED, _H.NO: _S.UNCHANGED},
    _S.DESK_MUTED: {_H.YES: _S.PACK, _H.NO: _S.UNCHANGED},
    _S.PACK: {_H.CONFIRMED: _S.RECEIVER, _H.REFUSED: _S.UNCHANGED, _H.UNKNOWN: _S.LOOK},
    _S.LOOK: {_H.NEW: _S.RECEIVER, _H.OLD: _S.UNCHANGED, _H.NEITHER: _S.UNKNOWN},
    _S.RECEIVER: {_H.CONFIRMED: _S.IDENTITY, _H.REFUSED: _S.BACK, _H.UNKNOWN: _S.UNKNOWN},
    _S.IDENTITY: {_H.NAMED: _S.LISTEN, _H.NOT_TOLD: _S.LISTEN, _H.NOT_NAMED: _S.BACK},
    _S.BACK: {_H.CONFIRMED: _S.ROLLED_BACK, _H.REFUSED: _S.UNKNOWN, _H.UNKNOWN: _S.UNKNOWN},
    _S.LISTEN: {_H.YES: _S.UNMUTE, _H.NO: _S.BACK},
    _S.UNMUTE: {_H.YES: _S.DONE},
}
"""From a stage and what happens to the next stage; a stage that isn't here is an end."""

PROMPTS: dict[Stage, RetunePrompt] = {
    _S.OFF_MIC: RetunePrompt(
        _S.OFF_MIC, "Is the performer off the microphone? If not, hand over a spare microphone instead.", ("yes", "no")
    ),
    _S.DESK_MUTED: RetunePrompt(_S.DESK_MUTED, "Ask the desk to mute it. Has the desk answered: muted?", ("yes", "no")),
    _S.LOOK: RetunePrompt(
        _S.LOOK,
        "It is unknown whether the pack has moved. Look for it on both frequencies. Where is it?",
        ("old", "new", "neither"),
    ),
    _S.LISTEN: RetunePrompt(_S.LISTEN, "Listen before the desk unmutes. Is it good?", ("yes", "no")),
    _S.UNMUTE: RetunePrompt(_S.UNMUTE, "Tell the desk that it is good. Has the desk unmuted it?", ("yes",)),
}

ENDS: dict[Stage, tuple[RetuneState, str]] = {
    _S.DONE: (RetuneState.DONE, ""),
    _S.UNCHANGED: (RetuneState.CANCELLED, "pack and receiver stand where they stood; tell the desk"),
    _S.ROLLED_BACK: (RetuneState.ROLLED_BACK, "pack and receiver are back where they stood; tell the desk"),
    _S.UNKNOWN: (RetuneState.STOPPED, "unknown: look on both frequencies, keep it muted, hand over a spare microphone"),
}
"""What a run has come to at each end, and what is left to do."""


def next_stage(stage: Stage, happening: Happening) -> Stage:
    """The stage that follows. Raises KeyError for what can't happen there."""
    return TRANSITIONS[stage][happening]
