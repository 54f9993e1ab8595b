"""The devices that a console watches, and their list: edited while it runs, each edit durable and then in force."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, Protocol

import msgspec

from fleet.clock import MICROSECONDS_PER_SECOND
from fleet.config import DeviceAddress
from fleet.edits import Edits
from fleet.errors import InvalidDocument, LimitReached, NotFound, RevisionStale, ValueRefused
from fleet.intake import Intake
from fleet.journal.documents import Document, Documents, Draft
from fleet.model.device_list import (
    DEVICES,
    Announced,
    DeviceEntry,
    DeviceList,
    Discovery,
    Given,
    ListedDevice,
    ListEdit,
    ListRevision,
    Looked,
)
from fleet.model.device_list_check import ListProblem, problem_with_device, problem_with_list
from fleet.model.inputs import DevicesWatched
from fleet.reach import Reach
from fleet.roster_entries import addresses_of, as_listed, entries_of, place_of, plays_back, standing_of
from fleet.shelf import SITE, START_UP

ADDRESS = "device-list"
LOOKS_AT_ONCE = 2
LOOKS_PER_MINUTE = 20
_MINUTE_US = 60 * MICROSECONDS_PER_SECOND


class Calls(Protocol):
    """Whoever keeps contact with the devices."""

    async def keep_only(self, devices: Sequence[DeviceAddress]) -> None:
        """Keep contact with these from now on; those that stay as they are are left alone."""


class Tokens(Protocol):
    """The devices' bearer tokens by name. What goes in never comes out here."""

    def names(self) -> tuple[str, ...]:
        """The names under which tokens are kept."""

    def put(self, name: str, token: str) -> None:
        """Keep a token, in the place of an earlier one. Raises LimitReached and OSError."""

    def remove(self, name: str) -> None:
        """Forget a token. Raises NotFound and OSError."""


class Surroundings(Protocol):
    """What lies around a console: what it may call, and what announces itself."""

    @property
    def reach(self) -> Reach:
        """The networks and ports that may be called."""

    @property
    def tokens(self) -> Tokens | None:
        """Where the devices' tokens are kept; None where the configuration names no file for them."""

    @property
    def on(self) -> bool:
        """Whether it is listened for what announces itself."""

    @property
    def reason(self) -> str:
        """Why not, where it isn't."""

    @property
    def left_out(self) -> int:
        """How many announcements there was no room for."""

    def announced(self) -> tuple[Announced, ...]:
        """What announces itself now."""

    async def look(self, url: str, token: str) -> Looked:
        """Who is at that address; takes five seconds at the most, and says in words what went wrong."""

    async def start(self) -> None:
        """Begin to listen."""

    async def stop(self) -> None:
        """Listen no more."""


class NoSurroundings:
    """Where a console calls nobody but the devices it was started with, as in a demonstration."""

    reach = Reach((), ())
    tokens = None
    on = False
    reason = "this console calls only the devices it was started with"
    left_out = 0

    def announced(self) -> tuple[Announced, ...]:
        """Nothing."""
        return ()

    async def look(self, url: str, _token: str) -> Looked:
        """Nobody."""
        return Looked(url, False, self.reason, "", ())

    async def start(self) -> None:
        """Nothing to begin."""

    async def stop(self) -> None:
        """Nothing to end."""


class Roster:
    """The list in force. Devices given at start-up stand beneath it and are never changed."""

    def __init__(
        self,
        seed: Sequence[DeviceAddress],
        surroundings: Surroundings,
        documents: Documents,
        intake: Intake,
        calls: Calls,
    ) -> None:
        self._seed = tuple(seed)
        self._seeded = {device.device_id: device for device in seed}
        self._surroundings = surroundings
        self._documents = documents
        self._intake = intake
        self._calls = calls
        self._listed = DeviceList()
        self._revision = 0
        self._edits = Edits(self._read_again)
        self._looks: deque[int] = deque(maxlen=LOOKS_PER_MINUTE)
        self._looking = 0

    # ------------------------------------------------------------ lifetime

    async def begin(self) -> tuple[DeviceAddress, ...]:
        """Read the list that stands, and say which devices are to be watched. Raises InvalidDocument."""
        try:
            document = await asyncio.to_thread(self._documents.get, DEVICES, SITE)
        except NotFound:
            return self._seed
        self._listed, self._revision = _list_in(document), document.revision
        return self._addresses()

    def put_in_force(self, by: str = START_UP) -> None:
        """Tell the pipeline which devices are watched."""
        entries = self.entries()[0]
        self._intake.take(
            DevicesWatched(
                at=self._intake.now(),
                device_ids=frozenset(entry.device_id for entry in entries if entry.enabled),
                switched_off=frozenset(entry.device_id for entry in entries if not entry.enabled),
                replayed=frozenset(entry.device_id for entry in entries if entry.replay),
                revision=self._revision,
                by=by,
            )
        )

    async def start(self) -> None:
        """Begin to listen for what announces itself."""
        await self._surroundings.start()

    async def stop(self) -> None:
        """Listen no more."""
        await self._surroundings.stop()

    # ------------------------------------------------------------ what stands

    def entries(self) -> tuple[tuple[DeviceEntry, ...], int]:
        """Every device by list or start-up, and the revision of the list."""
        return entries_of(self._seed, self._listed), self._revision

    def listed(self) -> tuple[DeviceList, int]:
        """The document itself and its revision."""
        return self._listed, self._revision

    async def revisions(self) -> tuple[ListRevision, ...]:
        """Every revision of the list, oldest first; waits for the disk. Raises JournalUnavailable."""
        kept = await asyncio.to_thread(self._documents.revisions, DEVICES, SITE)
        return tuple(ListRevision(each.revision, each.by, each.at_utc_us, len(_list_in(each).devices)) for each in kept)

    async def at_revision(self, revision: int) -> DeviceList:
        """The list as it stood. Raises NotFound and JournalUnavailable."""
        return _list_in(await asyncio.to_thread(self._documents.get, DEVICES, SITE, revision))

    def discovery(self) -> Discovery:
        """What announces itself, and how it stands to the list."""
        around = self._surroundings
        entries, _ = self.entries()
        contacts = {view.device_id: view.contact.state for view in self._intake.pipeline.devices()}
        found = tuple(standing_of(heard, entries, contacts, around.reach) for heard in around.announced())
        return Discovery(around.on, around.reason, around.left_out, found)

    async def look(self, url: str, token: str = "") -> Looked:
        """Who is at an address, without adding anything; five seconds at the most.

        Raises ValueRefused for a place that isn't called, LimitReached beyond two at once or twenty a minute.
        """
        _refuse(problem_with_device(ListedDevice("looked-at", url, token=token), self._surroundings.reach))
        now_us = self._intake.now().monotonic_us
        if self._looking >= LOOKS_AT_ONCE:
            raise LimitReached("looking at addresses at once", LOOKS_AT_ONCE)
        if len(self._looks) == LOOKS_PER_MINUTE and now_us - self._looks[0] < _MINUTE_US:
            raise LimitReached("looking at addresses in a minute", LOOKS_PER_MINUTE)
        self._looks.append(now_us)
        self._looking += 1
        try:
            looked = await self._surroundings.look(url, token)
        finally:
            self._looking -= 1
        where = {entry.device_id: entry.url for entry in self.entries()[0]}
        devices = tuple(replace(found, listed_at=where.get(found.device_id, "")) for found in looked.devices)
        return replace(looked, devices=devices)

    def tokens(self) -> Tokens:
        """The devices' tokens. Raises ValueRefused where there is no place to keep any."""
        kept = self._surroundings.tokens
        if kept is None:
            raise ValueRefused("device-tokens", "device_tokens", "must be a file that the configuration names", {})
        return kept

    # ------------------------------------------------------------ edits
    #
    # Each raises RevisionStale, ValueRefused and JournalUnavailable, and has changed nothing then; it returns the new
    # revision once that is durable and in force.

    async def replace(self, edit: ListEdit, listed: DeviceList) -> int:
        """Put a whole list in the place of the one that stands."""
        async with self._edits.one():
            return await self._keep(edit, listed)

    async def add(self, edit: ListEdit, device: ListedDevice) -> int:
        """Add one device."""
        async with self._edits.one():
            for entry in self.entries()[0]:
                if entry.device_id == device.device_id:
                    _refuse(ListProblem(entry.device_id, "id", f"is listed already, at {entry.url}"))
            return await self._keep(edit, DeviceList((*self._listed.devices, device)))

    async def change(self, edit: ListEdit, device_id: str, changes: Mapping[str, Any]) -> int:
        """Change members of one device; one of the start-up gets an entry that stands before it. Raises NotFound."""
        async with self._edits.one():
            return await self._change(edit, device_id, changes)

    async def remove(self, edit: ListEdit, device_id: str) -> int:
        """Take one device out of the list. Raises NotFound."""
        async with self._edits.one():
            if self._entry(device_id).given is Given.START_UP:
                reason = "was given at start-up; switch it off here, or take it out of the configuration"
                _refuse(ListProblem(device_id, "id", reason))
            left = tuple(device for device in self._listed.devices if device.device_id != device_id)
            return await self._keep(edit, DeviceList(left))

    async def move(self, edit: ListEdit, device_id: str, url: str) -> int:
        """Call a device that is lost at another address from now on, once it has said there that it is the one.

        Raises NotFound, and as ``look`` does.
        """
        entry = self._entry(device_id)
        if any(view.device_id == device_id and view.contact.state.in_contact for view in self._devices()):
            _refuse(ListProblem(device_id, "url", f"need not change: it is in contact at {entry.url}"))
        looked = await self.look(url, entry.token)
        if device_id not in {found.device_id for found in looked.devices}:
            there = ", ".join(found.device_id for found in looked.devices[:3])
            reason = f"leads to someone else: {there}" if there else f"can't be used: {looked.reason}"
            _refuse(ListProblem(device_id, "url", reason))
        return await self.change(edit, device_id, {"url": url})

    # ------------------------------------------------------------ parts

    def _devices(self) -> Any:
        return self._intake.pipeline.devices()

    def _entry(self, device_id: str) -> DeviceEntry:
        found = next((entry for entry in self.entries()[0] if entry.device_id == device_id), None)
        if found is None:
            raise NotFound("device in the list", device_id)
        return found

    def _addresses(self) -> tuple[DeviceAddress, ...]:
        return addresses_of(self.entries()[0], self._seed)

    async def _change(self, edit: ListEdit, device_id: str, changes: Mapping[str, Any]) -> int:
        before = as_listed(self._entry(device_id))
        after = replace(before, **changes)
        known = any(device.device_id == device_id for device in self._listed.devices)
        others = self._listed.devices if known else (*self._listed.devices, before)
        return await self._keep(
            edit, DeviceList(tuple(after if device.device_id == device_id else device for device in others))
        )

    async def _keep(self, edit: ListEdit, listed: DeviceList) -> int:
        """Check a list, keep it, and put it in force."""
        seen = edit.seen_revision or None
        if seen is not None and seen != self._revision:
            standing = {DEVICES: msgspec.to_builtins(self._listed.devices)}
            raise RevisionStale(f"{DEVICES}/{SITE}", str(seen), str(self._revision or "nothing"), standing)
        _refuse(self._problem_with(listed))
        body = {DEVICES: msgspec.to_builtins(listed.devices)}
        draft = Draft(DEVICES, SITE, body, seen, edit.person, self._intake.now().utc_us)
        document = await self._documents.put(draft)
        await self._put_in_place(listed, document)
        await self._intake.settled()
        return document.revision

    async def _put_in_place(self, listed: DeviceList, document: Document) -> None:
        self._listed, self._revision = listed, document.revision
        await self._calls.keep_only(self._addresses())
        self.put_in_force(document.by)  # Before a new contact's first word, for nothing was awaited in between.

    async def _read_again(self) -> None:
        """Put the list that stands on the disk in force, where an edit that was called failed was kept after all."""
        try:
            document = await asyncio.to_thread(self._documents.get, DEVICES, SITE)
        except NotFound:
            return
        if document.revision != self._revision:
            await self._put_in_place(_list_in(document), document)

    def _problem_with(self, listed: DeviceList) -> ListProblem | None:
        """What is wrong with a list by itself, or together with what was given at start-up."""
        live = (each for each in listed.devices if not plays_back(each, self._seeded.get(each.device_id)))
        problem = problem_with_list(DeviceList(tuple(live)), self._surroundings.reach)
        if problem is not None:
            return problem
        places: dict[str, str] = {}
        for entry in entries_of(self._seed, listed):
            other = places.setdefault(place_of(entry.url), entry.device_id)
            if other != entry.device_id and not entry.replay:
                return ListProblem(entry.device_id, "url", f"is the address of {other} too")
        return None


def _refuse(problem: ListProblem | None) -> None:
    if problem is not None:
        address = f"{ADDRESS}/{problem.device_id}" if problem.device_id else ADDRESS
        raise ValueRefused(address, problem.field, problem.reason, {})


def _list_in(document: Document) -> DeviceList:
    try:
        return DeviceList(msgspec.convert(document.body.get(DEVICES), tuple[ListedDevice, ...]))
    except msgspec.ValidationError as error:
        raise InvalidDocument(f"{document.kind}/{document.name}", DEVICES, str(error)) from error
