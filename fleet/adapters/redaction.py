"""What a trace never holds, and what it holds only where nobody minds: keys and tokens never, names when not asked.

Keys, tokens and passwords are taken out of every message. Where redaction is asked for, every free text goes too: names
become stable invented ones, words to people are left out. What has a fixed set of choices, addresses and codes stay.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fleet.model.capability import SchemaType
from fleet.model.device import DeviceDescription
from fleet.model.fields import Value
from fleet.model.observation import CommandAnswer, Notice, SettingsReport
from fleet.model.secret_names import names_a_secret

NEVER_WRITTEN = "(never written)"
WORDS_LEFT_OUT = "(words left out)"
NAMES_MAXIMUM = 10_000
"""Different names that are told apart; any more become one and the same."""

_MAYBE_SECRET = re.compile(
    rb"key|token|secret|passw|passphrase|authorization|bearer|credential|arguments|\\u", re.IGNORECASE
)
_SETTINGS = frozenset({"settings", "changes"})
_WORDS = frozenset({"words", "reason", "message"})
_MAPS_OF_WORDS = frozenset({"refused_fields", "fields"})
_TEXTS_THAT_ARE_ADDRESSES = frozenset({"identity"})


class Redaction:
    """Takes out what must not be written. One for each recording, so that a name stays the same throughout."""

    def __init__(self, *, names: bool) -> None:
        self.names = names
        self._invented: dict[str, str] = {}
        self._choices: dict[str, frozenset[object]] = {}

    # ------------------------------------------------------------ messages as they travelled

    def text_of(self, data: bytes | str) -> str | None:
        """What of a message may be written; None when it can't be told what is in it."""
        raw = data.encode(errors="replace") if isinstance(data, str) else data
        if not self.names and _MAYBE_SECRET.search(raw) is None:
            return raw.decode(errors="replace")
        try:
            body = json.loads(raw)
            self._learn_from(body)
            return json.dumps(self._walked(body, ""), separators=(",", ":"))
        except (ValueError, RecursionError):
            return None

    def _learn_from(self, body: Any) -> None:
        """The choices of settings stand in the description, which comes before any value of them."""
        try:
            capabilities = body["result"]["description"]["capabilities"]
            for capability in capabilities:
                field, choices = capability["field"], capability["schema"].get("enum") or ()
                self._choices[field] = self._choices.get(field, frozenset()) | frozenset(choices)
        except (KeyError, TypeError, AttributeError):
            return

    def _walked(self, body: Any, within: str) -> Any:
        if isinstance(body, dict):
            return {name: self._member(name, value, within) for name, value in body.items()}
        if isinstance(body, list):
            return [self._walked(value, within) for value in body]
        return body

    def _member(self, name: str, value: Any, within: str) -> Any:
        if names_a_secret(name):
            return NEVER_WRITTEN
        if name == "arguments" and isinstance(
            value, dict
        ):  # Of an act; which of them are secret only its device knows.
            return {key: NEVER_WRITTEN if isinstance(given, str) else given for key, given in value.items()}
        if not self.names or "description" in (within, name):
            return self._walked(value, "description" if name == "description" else within)
        if name in _SETTINGS and isinstance(value, dict):
            return self.settings(value)
        if name == "exact" and isinstance(value, dict):
            return {at: self._exact(readings) for at, readings in value.items()}
        if name in _MAPS_OF_WORDS and isinstance(value, dict):
            return dict.fromkeys(value, WORDS_LEFT_OUT)
        if name in _WORDS and isinstance(value, str) and value:
            return WORDS_LEFT_OUT
        return self._walked(value, within)

    def _exact(self, readings: Any) -> Any:
        return self.readings(readings) if isinstance(readings, dict) else readings

    # ------------------------------------------------------------ facts

    def learn(self, description: DeviceDescription) -> None:
        """Know which texts are choices, and so no names."""
        for capability in description.capabilities:
            if capability.schema.type is SchemaType.STRING:
                known = self._choices.get(capability.field, frozenset())
                self._choices[capability.field] = known | frozenset(capability.schema.enum)

    def settings(self, settings: Mapping[str, Value]) -> dict[str, Value]:
        """Settings without keys, and without free texts where asked for."""
        return {field: self._setting(field, value) for field, value in settings.items()}

    def _setting(self, field: str, value: Value) -> Value:
        if names_a_secret(field):
            return NEVER_WRITTEN
        if not self.names or not isinstance(value, str) or value in self._choices.get(field, ()):
            return value
        return self.name(value)

    def readings(self, readings: Mapping[str, Value | None]) -> dict[str, Value | None]:
        """Exact readings of one address without keys, and without free texts where asked for."""
        return {
            name: value if value is None or name in _TEXTS_THAT_ARE_ADDRESSES else self._setting(name, value)
            for name, value in readings.items()
        }

    def report(self, report: SettingsReport) -> SettingsReport:
        """A report with what may be written of it."""
        return replace(report, settings=self.settings(report.settings))

    def answer(self, answer: CommandAnswer) -> CommandAnswer:
        """An answer with what may be written of it."""
        answer = replace(answer, result=self.settings(answer.result))
        if not self.names:
            return answer
        fields = dict.fromkeys(answer.refused_fields, WORDS_LEFT_OUT)
        return replace(answer, reason=self.words(answer.reason), refused_fields=fields)

    def notice(self, notice: Notice) -> Notice:
        """A notice with what may be written of it."""
        return Notice(notice.code, self.words(notice.words))

    def words(self, words: str) -> str:
        """Words to people, which may name anybody."""
        return WORDS_LEFT_OUT if self.names and words else words

    def name(self, name: str) -> str:
        """The invented name that stands for one, the same each time; nothing stays nothing."""
        if not name:
            return name
        if name not in self._invented and len(self._invented) >= NAMES_MAXIMUM:
            return "Name"
        return self._invented.setdefault(name, f"Name {len(self._invented) + 1}")
