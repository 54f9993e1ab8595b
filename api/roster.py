"""The list of devices as the API sees it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from fleet.model.device_list import (
    DeviceEntry,
    DeviceList,
    Discovery,
    ListedDevice,
    ListEdit,
    ListRevision,
    Looked,
)


class Tokens(Protocol):
    """The devices' bearer tokens by name; what goes in never comes out."""

    def names(self) -> tuple[str, ...]:
        """The names under which tokens are kept."""

    def put(self, name: str, token: str) -> None:
        """Keep a token. Raises LimitReached and OSError."""

    def remove(self, name: str) -> None:
        """Forget a token. Raises NotFound and OSError."""


class Roster(Protocol):
    """The list in force and what lies around it.

    Each edit raises RevisionStale, ValueRefused and JournalUnavailable, and has changed nothing then; it returns the
    new revision.
    """

    def entries(self) -> tuple[tuple[DeviceEntry, ...], int]:
        """Every device by list or start-up, and the revision of the list."""

    def listed(self) -> tuple[DeviceList, int]:
        """The document itself and its revision."""

    async def revisions(self) -> tuple[ListRevision, ...]:
        """Every revision of the list, oldest first."""

    async def at_revision(self, revision: int) -> DeviceList:
        """The list as it stood. Raises NotFound."""

    def discovery(self) -> Discovery:
        """What announces itself, and how it stands to the list."""

    async def look(self, url: str, token: str = "") -> Looked:
        """Who is at an address. Raises ValueRefused and LimitReached."""

    def tokens(self) -> Tokens:
        """The devices' tokens. Raises ValueRefused where there is no place to keep any."""

    async def replace(self, edit: ListEdit, listed: DeviceList) -> int:
        """Put a whole list in the place of the one that stands."""

    async def add(self, edit: ListEdit, device: ListedDevice) -> int:
        """Add one device."""

    async def change(self, edit: ListEdit, device_id: str, changes: Mapping[str, Any]) -> int:
        """Change members of one device. Raises NotFound."""

    async def remove(self, edit: ListEdit, device_id: str) -> int:
        """Take one device out of the list. Raises NotFound."""

    async def move(self, edit: ListEdit, device_id: str, url: str) -> int:
        """Call a lost device elsewhere from now on. Raises NotFound and LimitReached."""
