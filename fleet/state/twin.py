"""The twin: the settings of every thing as its device last reported them.

Reported values come from the device alone. What somebody asked for stands beside them, in the commands.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from fleet.model.event import SettingsChanged
from fleet.model.fields import Value, same_value
from fleet.model.moment import Moment
from fleet.model.observation import SettingsReport
from fleet.model.quality import Quality
from fleet.model.settings import Cause, counter_of

SETTINGS_MAXIMUM = 256
"""Settings of one address; what a device reports beyond is left out."""


@dataclass(slots=True)
class Reported:
    """What was reported of one address.

    ``revision`` is that of its own last report; others that share its counter may have had later ones. ``current`` is
    false until a new connection or boot has reported it anew. ``vouched`` is false while the device only repeats what
    it knew last.
    """

    revision: str
    settings: dict[str, Value] = field(default_factory=dict)
    current: bool = False
    vouched: bool = True


class Twin:
    """The reported settings, by address.

    ``touched`` holds the addresses that changed since it was last emptied; ``unvouched`` those that the device only
    repeats from memory, each with the monotonic time at which it was last read again. Addresses that share a counter of
    revisions share the latest revision that it was heard to have.
    """

    def __init__(self) -> None:
        self._reported: dict[str, Reported] = {}
        self._revisions: dict[str, str] = {}
        self._sharing: dict[str, set[str]] = {}
        self.unvouched: dict[str, int | None] = {}
        self.touched: set[str] = set()

    def get(self, address: str) -> Reported | None:
        """What was reported of an address, or None."""
        return self._reported.get(address)

    def revision_of(self, address: str) -> str:
        """The latest revision of the counter that the address shares, or nothing before it was reported."""
        return self._revisions.get(counter_of(address), "")

    def settings_of(self, address: str) -> Mapping[str, Value]:
        """The reported settings of an address; none before it was reported."""
        reported = self._reported.get(address)
        return {} if reported is None else reported.settings

    def holds(self, address: str, desired: Mapping[str, Value]) -> bool:
        """Whether every desired value is the reported one."""
        reported = self._reported.get(address)
        return reported is not None and all(
            name in reported.settings and same_value(reported.settings[name], value) for name, value in desired.items()
        )

    def outdate(self, addresses: Iterable[str]) -> None:
        """What was reported of these is the past until it is reported anew."""
        for address in addresses:
            self.touched.add(address)
            reported = self._reported.get(address)
            if reported is not None:
                reported.current = False

    def report(self, at: Moment, through: str, report: SettingsReport) -> tuple[SettingsChanged, ...]:
        """Take a report in. The event carries what differs from before, and is left out when nothing does."""
        reported = self._reported.setdefault(report.address, Reported(""))
        if not report.complete and not _is_newer(report.revision, reported.revision):
            return ()  # A change that was told before: what it says may be the past.
        before = reported.settings
        changed = {name: value for name, value in report.settings.items() if not same_value(before.get(name), value)}
        room = SETTINGS_MAXIMUM - len(before)
        for name in [name for name in changed if name not in before][max(0, room) :]:
            del changed[name]
        if report.complete:
            reported.settings = {name: before[name] for name in before if name in report.settings} | changed
        else:
            reported.settings = before | changed
        reported.revision = report.revision
        self._count(report)
        reported.current = reported.current or report.complete
        if report.complete:
            self._vouch(report.address, reported, good=report.quality is Quality.GOOD)
        self.touched.add(report.address)
        if not changed:
            return ()
        return (_event(at, through, report, changed, before),)

    def _count(self, report: SettingsReport) -> None:
        """Note the revision for all that share the counter."""
        counter = counter_of(report.address)
        sharing = self._sharing.setdefault(counter, set())
        sharing.add(report.address)
        if _is_newer(report.revision, self._revisions.get(counter, "")):
            self._revisions[counter] = report.revision
            self.touched.update(sharing)

    def _vouch(self, address: str, reported: Reported, *, good: bool) -> None:
        reported.vouched = good
        if good:
            self.unvouched.pop(address, None)
        else:
            self.unvouched.setdefault(address, None)


def _is_newer(revision: str, known: str) -> bool:
    """Whether a revision is later than the known one. Of another boot, or without a number, it is taken for so."""
    boot, _, number = revision.rpartition(".")
    known_boot, _, known_number = known.rpartition(".")
    if boot != known_boot or not (number.isdecimal() and known_number.isdecimal()):
        return True
    return int(number) > int(known_number)


def _event(
    at: Moment, through: str, report: SettingsReport, changed: dict[str, Value], before: Mapping[str, Value]
) -> SettingsChanged:
    return SettingsChanged(
        at=at,
        address=report.address,
        controlled_through=through,
        revision=report.revision,
        cause=Cause.UNKNOWN if report.complete else report.cause,
        settings=changed,
        before={name: before[name] for name in changed if name in before},
        command_id="" if report.complete else report.command_id,
    )
