"""One device behind a gateway that makes no sense: it alone is set aside."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fleet.adapters.open_json import OpenJsonAdapter
from fleet.model.device import CarrierDescription, ContactState, DeviceDescription
from tests.adapters.contract_gateway import ONE, GatewayRig
from tests.virtual_time import run_virtual

BAD = "shed-2"
NOWHERE = CarrierDescription("elsewhere/carrier/1", (), ())


def as_somebody_else(description: DeviceDescription) -> DeviceDescription:
    return replace(description, device_id="somebody-else")


def with_things_of_another(description: DeviceDescription) -> DeviceDescription:
    return replace(description, carriers=(*description.carriers, NOWHERE))


@pytest.mark.parametrize("spoil", [as_somebody_else, with_things_of_another])
def test_a_senseless_description_sets_one_device_aside_and_leaves_the_others(spoil: object) -> None:
    async def main() -> None:
        rig = GatewayRig(OpenJsonAdapter)
        two = rig.gateway.devices[BAD]
        assert callable(spoil)
        two.description = spoil(two.description)
        try:
            await rig.adapter.connect()
        finally:
            await rig.adapter.close()
            await rig.network.close()
        last = {contact.device_id: contact for contact in rig.heard.contacts}
        assert last[ONE].state is ContactState.FRESH
        assert last[BAD].state is ContactState.LOST
        assert "can't be believed" in last[BAD].reason

    run_virtual(main())
