"""Who is meant by a choice of carriers, groups and zones; names that nothing has are refused."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Mapping, Sequence
from typing import Protocol, TypeVar

import msgspec

from fleet.errors import InvalidDocument
from fleet.model.forecast import CarrierName
from fleet.planning.what_if.site import FILE

Key = TypeVar("Key", bound=Hashable)


class OfPlan(Protocol):
    """A carrier of a plan, or what radiates it."""

    @property
    def group(self) -> str:
        """The group that it belongs to."""

    @property
    def zone(self) -> str:
        """The zone that it serves."""

    @property
    def frequency_hz(self) -> int:
        """Where it stands."""


class Chosen(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Whom a change is about: those of any of these carriers, groups or zones, everybody if none is named.

    ``but`` are left as they are, so that *everyone off-stage* is everyone but those on stage.
    """

    carriers: tuple[CarrierName, ...] = ()
    groups: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    but: tuple[CarrierName, ...] = ()


class KnownCarriers:
    """The carriers that there are, looked up once and asked often; each is told by its place among them."""

    def __init__(self, carriers: Sequence[OfPlan]) -> None:
        self._all = frozenset(range(len(carriers)))
        self._by_name = _places_by([name_of(each) for each in carriers])
        self._by_group = _places_by([each.group for each in carriers])
        self._by_zone = _places_by([each.zone for each in carriers])

    def named(self, chosen: Chosen, key: str) -> set[int]:
        """Whom a choice is about.

        Raises InvalidDocument for a name that nothing has: a choice that leaves somebody out would be believed.
        """
        found = set() if chosen.carriers or chosen.groups or chosen.zones else set(self._all)
        found |= _looked_up(chosen.carriers, self._by_name, f"{key}.carriers")
        found |= _looked_up(chosen.groups, self._by_group, f"{key}.groups")
        found |= _looked_up(chosen.zones, self._by_zone, f"{key}.zones")
        return found - _looked_up(chosen.but, self._by_name, f"{key}.but")


def name_of(each: OfPlan) -> CarrierName:
    """How a plan tells a carrier from others."""
    return CarrierName(each.group, each.frequency_hz)


def _places_by(words: Sequence[Key]) -> dict[Key, set[int]]:
    found = defaultdict(set)
    for place, word in enumerate(words):
        found[word].add(place)
    return dict(found)


def _looked_up(asked: Sequence[Key], known: Mapping[Key, set[int]], key: str) -> set[int]:
    for each in asked:
        if each not in known:
            raise InvalidDocument(FILE, key, "names that the plan has", each)
    return set().union(*(known[each] for each in asked))
