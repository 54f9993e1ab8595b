"""What a scan says to keep out of, as a request for frequencies takes it."""

from __future__ import annotations

from collections.abc import Iterable

from fleet.model.survey_found import Exclusion, FoundBlock, FoundCarrier
from fleet.planning.spectrum.stretches import Stretch, merged

EXCLUSIONS_MAXIMUM = 1_000
"""So many a request takes; beyond, what lies near together becomes one."""


def exclusions_of(
    carriers: Iterable[FoundCarrier], blocks: Iterable[FoundBlock], place: str, margin_hz: int
) -> list[Exclusion]:
    """Occupied blocks as a whole, and every carrier outside of them with ``margin_hz`` to either side.

    There are at most EXCLUSIONS_MAXIMUM, by rising frequency.
    """
    full = [block for block in blocks if block.occupied]
    whole = [Exclusion(block.start_hz, block.stop_hz, f"block {block.name}") for block in full]
    apart = [(each.start_hz - margin_hz, each.stop_hz + margin_hz) for each in carriers if not each.block]
    stretches = _few(apart, EXCLUSIONS_MAXIMUM - len(whole))
    narrow = [Exclusion(start_hz, stop_hz, f"survey of {place}"[:64]) for start_hz, stop_hz in stretches]
    return sorted([*whole, *narrow], key=lambda exclusion: exclusion.start_hz)


def as_toml(exclusions: Iterable[Exclusion]) -> str:
    """Exclusions as the tables of a request."""
    return "\n".join(
        f"[[exclusion]]\nstart_hz = {_grouped(each.start_hz)}\nstop_hz = {_grouped(each.stop_hz)}\n"
        f"words = {_quoted(each.words)}\n"
        for each in exclusions
    )


def _few(stretches: list[Stretch], most: int) -> list[Stretch]:
    found, gap_hz = merged(stretches), 25_000
    while len(found) > most:
        found, gap_hz = merged(found, gap_hz), 2 * gap_hz
    return found


def _grouped(number: int) -> str:
    return f"{number:_}"


def _quoted(words: str) -> str:
    """Words as a TOML string."""
    plain = "".join(character if character.isprintable() else " " for character in words)
    return '"' + plain.replace("\\", "\\\\").replace('"', '\\"') + '"'
