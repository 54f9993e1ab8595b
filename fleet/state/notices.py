"""Notices, bounded: a device that has much to say can't fill the journal."""

from __future__ import annotations

from fleet.model.event import NoticeReceived
from fleet.model.moment import Moment

NOTICES_PER_WINDOW = 30
WINDOW_US = 60_000_000


class NoticeBook:
    """Lets thirty notices a minute of each device through; the last of them says that more were left out."""

    def __init__(self) -> None:
        self._windows: dict[str, tuple[int, int]] = {}

    def notice(self, at: Moment, device_id: str, code: str, words: str) -> tuple[NoticeReceived, ...]:
        """The event for that notice, or nothing once the device has had its share."""
        began_us, count = self._windows.get(device_id, (at.monotonic_us, 0))
        if at.monotonic_us - began_us >= WINDOW_US:
            began_us, count = at.monotonic_us, 0
        self._windows[device_id] = (began_us, count + 1)
        if count >= NOTICES_PER_WINDOW:
            return ()
        if count == NOTICES_PER_WINDOW - 1:
            code, words = (
                "notices-left-out",
                f"more than {NOTICES_PER_WINDOW} notices in a minute; the rest is left out",
            )
        return (NoticeReceived(at, device_id, code, words),)
