"""The device list as TOML, for import and export.

::

    [[device]]
    id = "quay-1"
    url = "ws://192.0.2.5:20001/"
    label = "Quay rack, top"    # may be left out, as all that follows
    expects = "real"            # or "simulated"; either when left out
    token = "quay"
    enabled = true
"""

from __future__ import annotations

import json
import tomllib

from fleet.errors import InvalidDocument
from fleet.model.device_list import DeviceList, Expects, ListedDevice
from fleet.toml_table import TomlTable

DEVICES_MAXIMUM = 1_000
_HEADING = "# The devices of a Redpoll console.\n"
_DELETE = "\x7f"


def read_device_list(text: str, file: str) -> DeviceList:
    """Read a device list; ``file`` names it in errors.

    Raises InvalidDocument with the key and what was expected there; what the values mean is checked elsewhere.
    """
    try:
        values = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise InvalidDocument(file, "(the whole file)", "TOML", str(error)) from error
    top = TomlTable(file, "", values)
    top.only("device")
    return DeviceList(tuple(_device(table) for table in top.tables("device", DEVICES_MAXIMUM)))


def _device(table: TomlTable) -> ListedDevice:
    table.only("id", "url", "label", "expects", "token", "enabled")
    return ListedDevice(
        device_id=table.text("id"),
        url=table.text("url"),
        label=table.text("label", ""),
        expects=_expects(table),
        token=table.text("token", ""),
        enabled=table.flag("enabled") if "enabled" in table.values else True,
    )


def _expects(table: TomlTable) -> Expects:
    text = table.text("expects", Expects.EITHER.value)
    try:
        return Expects(text)
    except ValueError as error:
        raise table.wrong("expects", f"one of {', '.join(Expects)}", text) from error


def write_device_list(devices: DeviceList) -> str:
    """The list as TOML that reads back as the same list."""
    return "\n".join([_HEADING, *(_table(device) for device in devices.devices)])


def _table(device: ListedDevice) -> str:
    members: dict[str, str | bool | None] = {
        "id": device.device_id,
        "url": device.url,
        "label": device.label or None,
        "expects": None if device.expects is Expects.EITHER else device.expects.value,
        "token": device.token or None,
        "enabled": device.enabled,
    }
    lines = (f"{name} = {_value(value)}\n" for name, value in members.items() if value is not None)
    return "[[device]]\n" + "".join(lines)


def _value(value: str | bool) -> str:
    """A JSON text is a TOML basic string but for one control character that JSON leaves as it is (TOML 1.0.0)."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return json.dumps(value, ensure_ascii=False).replace(_DELETE, "\\u007f")
