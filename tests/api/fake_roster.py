"""A list of devices that stands still but for what is asked of it: one given at start-up, one listed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from fleet.config import DeviceAddress
from fleet.errors import NotFound, ValueRefused
from fleet.model.device_list import (
    Announced,
    DeviceEntry,
    DeviceList,
    Discovery,
    ListedDevice,
    ListEdit,
    ListRevision,
    Looked,
    LookedDevice,
)
from fleet.model.device_list_check import problem_with_list
from fleet.reach import Reach
from fleet.roster_entries import as_listed, entries_of, standing_of

SEED = (DeviceAddress("house-1", "ws://127.0.0.1:20001"),)
LISTED = DeviceList((ListedDevice("quay-1", "ws://127.0.0.1:20002", "Quay rack"),))
HEARD = Announced("Quay 9", "quay-9", "receiver", True, ("ws://127.0.0.1:20009/",), 1, 2)


class FakeTokens:
    """Tokens in memory."""

    def __init__(self) -> None:
        self.kept: dict[str, str] = {}
        self.broken = False

    def names(self) -> tuple[str, ...]:
        return tuple(sorted(self.kept))

    def put(self, name: str, token: str) -> None:
        if self.broken:
            raise OSError("no space left")
        self.kept[name] = token

    def remove(self, name: str) -> None:
        if name not in self.kept:
            raise NotFound("device token", name)
        del self.kept[name]


class FakeRoster:
    """Keeps the list with a counted revision; whatever is looked at is quay-9."""

    def __init__(self) -> None:
        self.kept = [LISTED]
        self.fake_tokens: FakeTokens | None = FakeTokens()
        self.looked_at: list[tuple[str, str]] = []

    def entries(self) -> tuple[tuple[DeviceEntry, ...], int]:
        return entries_of(SEED, self.kept[-1]), len(self.kept)

    def listed(self) -> tuple[DeviceList, int]:
        return self.kept[-1], len(self.kept)

    async def revisions(self) -> tuple[ListRevision, ...]:
        return tuple(ListRevision(i, "Keeper", 7, len(each.devices)) for i, each in enumerate(self.kept, start=1))

    async def at_revision(self, revision: int) -> DeviceList:
        if revision > len(self.kept):
            raise NotFound("devices", f"site at revision {revision}")
        return self.kept[revision - 1]

    def discovery(self) -> Discovery:
        return Discovery(True, "", 0, (standing_of(HEARD, self.entries()[0], {}, Reach()),))

    async def look(self, url: str, token: str = "") -> Looked:
        self.looked_at.append((url, token))
        return Looked(url, True, "", "1.0", (LookedDevice("quay-9", "receiver", "half rack", True, False, 2),))

    def tokens(self) -> FakeTokens:
        if self.fake_tokens is None:
            raise ValueRefused("device-tokens", "device_tokens", "must be a file that the configuration names", {})
        return self.fake_tokens

    async def replace(self, edit: ListEdit, listed: DeviceList) -> int:
        problem = problem_with_list(listed, Reach())
        if problem is not None:
            raise ValueRefused(f"device-list/{problem.device_id}", problem.field, problem.reason, {})
        assert edit.seen_revision == len(self.kept)
        self.kept.append(listed)
        return len(self.kept)

    async def add(self, edit: ListEdit, device: ListedDevice) -> int:
        return await self.replace(edit, DeviceList((*self.kept[-1].devices, device)))

    async def change(self, edit: ListEdit, device_id: str, changes: Mapping[str, Any]) -> int:
        after = replace(as_listed(self._entry(device_id)), **changes)
        others = tuple(device for device in self.kept[-1].devices if device.device_id != device_id)
        return await self.replace(edit, DeviceList((*others, after)))

    async def remove(self, edit: ListEdit, device_id: str) -> int:
        self._entry(device_id)
        left = tuple(device for device in self.kept[-1].devices if device.device_id != device_id)
        return await self.replace(edit, DeviceList(left))

    async def move(self, edit: ListEdit, device_id: str, url: str) -> int:
        return await self.change(edit, device_id, {"url": url})

    def _entry(self, device_id: str) -> DeviceEntry:
        found = next((entry for entry in self.entries()[0] if entry.device_id == device_id), None)
        if found is None:
            raise NotFound("device in the list", device_id)
        return found
