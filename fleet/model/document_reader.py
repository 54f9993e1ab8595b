"""Strict reading of a document's tables: every fault is said with the file, the key and what was expected there."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from fleet.errors import InvalidDocument
from fleet.ids import is_device_id, is_id
from fleet.model.address import Place, parse_address

NAME_LENGTH_MAXIMUM = 64
Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a document. ``path`` is its key, empty for the whole document."""

    values: Mapping[str, Any]
    file: str
    path: str = ""

    def key(self, name: str) -> str:
        """The whole key of a member."""
        return f"{self.path}.{name}" if self.path else name

    def wrong(self, name: str, expected: str, found: object = None) -> InvalidDocument:
        """The error for a member."""
        return InvalidDocument(self.file, self.key(name), expected, found)

    def only(self, *known: str) -> None:
        """Refuse members of other names."""
        for name in self.values:
            if name not in known:
                raise self.wrong(name, f"one of {', '.join(sorted(known))}", name)

    def name(self, name: str, *, empty: bool = False) -> str:
        """A text that people read: printable, 1 to 64 characters; where it may be empty it may also be left out."""
        found = self.values.get(name, "" if empty else None)
        if empty and found == "":
            return ""
        if not isinstance(found, str) or not found.strip() or not _is_plain(found):
            raise self.wrong(name, f"a name of 1 to {NAME_LENGTH_MAXIMUM} printable characters", found)
        return found

    def identity(self, name: str) -> str:
        """An id. Raises InvalidDocument."""
        return self._id(name, self.values.get(name))

    def reference(self, name: str) -> str | None:
        """An id that may be left out."""
        found = self.values.get(name)
        return None if found is None else self._id(name, found)

    def _id(self, name: str, found: object) -> str:
        if not isinstance(found, str) or not is_id(found):
            raise self.wrong(name, "an id of 1 to 64 of a-z 0-9 . _ -", found)
        return found

    def whole(self, name: str, least: int, most: int, default: int | None = None) -> int:
        """A whole number within bounds."""
        found = self.values.get(name, default)
        if not isinstance(found, int) or isinstance(found, bool) or not least <= found <= most:
            raise self.wrong(name, f"a whole number from {least} to {most}", found)
        return found

    def share(self, name: str, least: float, default: float) -> float:
        """A number from ``least`` to 1."""
        found = self.values.get(name, default)
        if not isinstance(found, int | float) or isinstance(found, bool) or not least <= found <= 1.0:
            raise self.wrong(name, f"a number from {least:g} to 1", found)
        return float(found)

    def flag(self, name: str) -> bool:
        """True or false; false when left out."""
        found = self.values.get(name, False)
        if not isinstance(found, bool):
            raise self.wrong(name, "true or false", found)
        return found

    def address(self, name: str, place: Place) -> str:
        """The address of a thing of that place."""
        return self._address(name, self.values.get(name), place)

    def address_or_none(self, name: str, place: Place) -> str | None:
        """Such an address, or None where it is left out."""
        found = self.values.get(name)
        return None if found is None else self._address(name, found, place)

    def _address(self, name: str, found: object, place: Place) -> str:
        try:
            address = parse_address(found if isinstance(found, str) else "")
        except ValueError as error:
            raise self.wrong(name, f"the address of a {place}", found) from error
        if address.place is not place:
            raise self.wrong(name, f"the address of a {place}", found)
        return address.text

    def addresses(self, name: str, place: Place, most: int) -> tuple[str, ...]:
        """Addresses that differ; none when left out."""
        listed = self._list(name, most)
        return self._differing(
            name, [self._address(f"{name}[{index}]", one, place) for index, one in enumerate(listed)]
        )

    def device_ids(self, name: str, most: int) -> tuple[str, ...]:
        """Ids of devices that differ."""
        listed = self._list(name, most)
        for index, one in enumerate(listed):
            if not isinstance(one, str) or not is_device_id(one):
                raise self.wrong(f"{name}[{index}]", "a device's id: 1 to 64 of a-z 0-9 . _ - and not 'pack'", one)
        return self._differing(name, listed)

    def numbers(self, name: str, most: int) -> tuple[int, ...]:
        """Whole numbers from 1 that differ; none when left out."""
        listed = self._list(name, most)
        for index, one in enumerate(listed):
            if not isinstance(one, int) or isinstance(one, bool) or one < 1:
                raise self.wrong(f"{name}[{index}]", "a whole number from 1", one)
        return self._differing(name, listed)

    def names(self, name: str, most: int) -> tuple[str, ...]:
        """Names that differ; none when left out."""
        listed = self._list(name, most)
        for index, one in enumerate(listed):
            if not isinstance(one, str) or not one.strip() or not _is_plain(one):
                raise self.wrong(f"{name}[{index}]", f"a name of 1 to {NAME_LENGTH_MAXIMUM} printable characters", one)
        return self._differing(name, listed)

    def table(self, name: str) -> Table:
        """A table within; an empty one when left out."""
        found = self.values.get(name, {})
        if not isinstance(found, dict):
            raise self.wrong(name, "a table", found)
        return Table(found, self.file, self.key(name))

    def tables(self, name: str, most: int) -> Iterator[Table]:
        """Tables in their order; none when left out."""
        for index, found in enumerate(self._list(name, most)):
            if not isinstance(found, dict):
                raise self.wrong(f"{name}[{index}]", "a table", found)
            yield Table(found, self.file, f"{self.key(name)}[{index}]")

    def each(self, name: str, most: int, read: Callable[[Table], Item]) -> tuple[Item, ...]:
        """What those tables hold, read one by one."""
        return tuple(read(table) for table in self.tables(name, most))

    def _list(self, name: str, most: int) -> list[Any]:
        found = self.values.get(name, [])
        if not isinstance(found, list):
            raise self.wrong(name, "a list", found)
        if len(found) > most:
            raise self.wrong(name, f"at most {most} entries", len(found))
        return found

    def _differing(self, name: str, listed: Sequence[Item]) -> tuple[Item, ...]:
        seen: set[object] = set()
        for index, one in enumerate(listed):
            if one in seen:
                raise self.wrong(f"{name}[{index}]", "entries that differ", one)
            seen.add(one)
        return tuple(listed)


def _is_plain(text: str) -> bool:
    return len(text) <= NAME_LENGTH_MAXIMUM and text.isprintable()
