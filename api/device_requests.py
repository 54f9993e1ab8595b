"""What may be asked about the list of devices: strict models. What the values mean is checked where the list is."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import ConfigDict, Field, StringConstraints

from api.requests import StrictModel
from fleet.model.device_list import Expects, ListedDevice
from fleet.model.device_list_toml import DEVICES_MAXIMUM

_TEXT_MAXIMUM = 2_048
Text = Annotated[str, StringConstraints(max_length=_TEXT_MAXIMUM)]
Url = Annotated[str, StringConstraints(min_length=1, max_length=_TEXT_MAXIMUM)]
ExpectsWord = Literal["either", "real", "simulated"]
# RFC 6750 section 2.1
Token = Annotated[str, StringConstraints(min_length=1, max_length=1_024, pattern=r"^[A-Za-z0-9._~+/-]+=*$")]


def _without_defaults(schema: dict[str, Any]) -> None:
    """What a patch leaves out stays as it is, so the defaults that pydantic needs say nothing to anybody."""
    for member in schema["properties"].values():
        member.pop("default", None)


class DeviceRequest(StrictModel):
    """One device of the list."""

    device_id: Url
    url: Url
    label: Text = ""
    expects: ExpectsWord = "either"
    token: Text = ""
    enabled: bool = True

    def device(self) -> ListedDevice:
        """The fact that is asked for."""
        return ListedDevice(self.device_id, self.url, self.label, Expects(self.expects), self.token, self.enabled)


class DeviceListRequest(StrictModel):
    """A whole list."""

    devices: Annotated[list[DeviceRequest], Field(max_length=DEVICES_MAXIMUM)]


class DevicePatch(StrictModel):
    """Changes single members of one device. Absent members stay as they are."""

    model_config = ConfigDict(json_schema_extra=_without_defaults)

    url: Url = ""
    label: Text = ""
    expects: ExpectsWord = "either"
    token: Text = ""
    enabled: bool = True

    def changes(self) -> dict[str, Any]:
        """What is to change, as the list has it."""
        asked = self.model_dump(exclude_unset=True)
        return {name: Expects(value) if name == "expects" else value for name, value in asked.items()}


class MoveRequest(StrictModel):
    """Calls a device elsewhere from now on."""

    url: Url


class LookRequest(StrictModel):
    """Asks who is at an address; ``token`` is the name of a token to show there."""

    url: Url
    token: Text = ""


class DeviceTokenRequest(StrictModel):
    """A bearer token to keep."""

    token: Token


DEVICE_REQUESTS: tuple[type[StrictModel], ...] = (
    DeviceRequest,
    DeviceListRequest,
    DevicePatch,
    MoveRequest,
    LookRequest,
    DeviceTokenRequest,
)
