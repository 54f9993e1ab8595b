"""One table of a TOML document, read strictly: each key of its own kind, and nothing that isn't known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fleet.errors import InvalidDocument

PORT_MAXIMUM = 65_535
_MISSING = object()


@dataclass(frozen=True, slots=True)
class TomlTable:
    """One table of the document, and where it stands in it."""

    file: str
    prefix: str
    values: Mapping[str, Any]

    def wrong(self, key: str, expected: str, found: object = None) -> InvalidDocument:
        """The error for one key of this table."""
        return InvalidDocument(self.file, f"{self.prefix}{key}", expected, found)

    def only(self, *known: str) -> None:
        """Refuse every key that isn't known. Raises InvalidDocument, as the others do."""
        for key in self.values:
            if key not in known:
                raise self.wrong(key, f"one of {', '.join(known)}", key)

    def text(self, key: str, default: str | None = None) -> str:
        """A text; it must not be missing or empty unless there is a default."""
        value = self.values.get(key, _MISSING if default is None else default)
        if value is _MISSING:
            raise self.wrong(key, "a text, but it is missing")
        if not isinstance(value, str) or (default is None and not value):
            raise self.wrong(key, "a text that isn't empty", value)
        return value

    def port(self, key: str) -> int:
        """A port, 0 when left out."""
        value = self.values.get(key, 0)
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= PORT_MAXIMUM:
            raise self.wrong(key, f"a whole number from 0 to {PORT_MAXIMUM}", value)
        return value

    def number(self, key: str, default: float, minimum: float, maximum: float) -> float:
        """A number within its bounds."""
        value = self.values.get(key, default)
        if isinstance(value, bool) or not isinstance(value, int | float) or not minimum <= value <= maximum:
            raise self.wrong(key, f"a number from {minimum:g} to {maximum:g}", value)
        return float(value)

    def flag(self, key: str) -> bool:
        """True or false; false when left out."""
        value = self.values.get(key, False)
        if not isinstance(value, bool):
            raise self.wrong(key, "true or false", value)
        return value

    def table(self, key: str) -> TomlTable:
        """A table of its own; an empty one when left out."""
        value = self.values.get(key, {})
        if not isinstance(value, dict):
            raise self.wrong(key, "a table", value)
        return TomlTable(self.file, f"{self.prefix}{key}.", value)

    def tables(self, key: str, maximum: int) -> list[TomlTable]:
        """A list of tables, at most so many."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
            raise self.wrong(key, f"a list of tables, each under [[{key}]]", value)
        if len(value) > maximum:
            raise self.wrong(key, f"at most {maximum} of them", len(value))
        return [TomlTable(self.file, f"{self.prefix}{key}[{index}].", entry) for index, entry in enumerate(value)]

    def texts(self, key: str, default: tuple[str, ...]) -> tuple[str, ...]:
        """A list of texts."""
        value = self.values.get(key, list(default))
        if not isinstance(value, list) or not all(isinstance(entry, str) for entry in value):
            raise self.wrong(key, "a list of texts", value)
        return tuple(value)
