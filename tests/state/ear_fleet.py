"""A device with acts, guarded and conditional settings, outputs, inputs and bays, and a hand that turns it."""

from __future__ import annotations

from collections.abc import Mapping

from fleet.model.capability import ActCapability, Argument, Capability, Condition, Held, SchemaType, ValueSchema
from fleet.model.device import CarrierDescription, ContactState, DeviceDescription, OutputDescription
from fleet.model.event import Event
from fleet.model.fields import Value
from fleet.model.inputs import Act, OperatorAction, RequestAct
from fleet.model.observation import Answer, CommandAnswer, Contact, Observation
from tests.small_fleet import Hand

EAR = "ear-1"
CARRIER = f"{EAR}/carrier/1"
OUTPUT = f"{EAR}/output/1"
KEY = "the tide turns at nine"
_TEXT = ValueSchema(SchemaType.STRING)
_SECONDS = Argument("seconds", ValueSchema(SchemaType.INTEGER, 1, 10), "s")
_NARROW = Condition("mode", ("narrow",))

DESCRIPTION = DeviceDescription(
    device_id=EAR,
    kind="bench transmitter",
    form="bench",
    simulated=True,
    read_only=False,
    carriers=(CarrierDescription(CARRIER, (f"{CARRIER}/branch/a",), ()),),
    outputs=(OutputDescription(OUTPUT, "analog"),),
    inputs=(f"{EAR}/input/a",),
    bays=(f"{EAR}/bay/1",),
    capabilities=(
        Capability((EAR,), "name", _TEXT, Held.RECEIVER),
        Capability((CARRIER,), "mode", ValueSchema(SchemaType.STRING, enum=("narrow", "wide")), Held.RECEIVER),
        Capability(
            (CARRIER,), "bandwidth_hz", ValueSchema(SchemaType.INTEGER, enum=(200_000,)), Held.RECEIVER, when=(_NARROW,)
        ),
        Capability(
            (CARRIER,),
            "bandwidth_hz",
            ValueSchema(SchemaType.INTEGER, enum=(6_000_000,)),
            Held.RECEIVER,
            when=(Condition("mode", ("wide",)),),
        ),
        Capability((CARRIER,), "squelch_dbm", ValueSchema(SchemaType.NUMBER), Held.RECEIVER, when=(_NARROW,)),
        Capability((CARRIER,), "rf_power_mw", ValueSchema(SchemaType.NUMBER, 0, 50), Held.RECEIVER, guarded=True),
        Capability((CARRIER,), "rf_on", ValueSchema(SchemaType.BOOLEAN), Held.RECEIVER, guarded=True),
        Capability((OUTPUT,), "level_db", ValueSchema(SchemaType.NUMBER, -20, 20), Held.RECEIVER),
    ),
    acts=(
        ActCapability((EAR,), "identify", arguments=(_SECONDS,)),
        ActCapability((EAR,), "restart", mutes_for_ms=8_000),
        ActCapability((EAR,), "scan", cancellable=True, progress=True, finish_within_ms=120_000),
        ActCapability((CARRIER,), "tone", arguments=(_SECONDS,), guarded=True),
        ActCapability(
            (CARRIER,),
            "set_key",
            arguments=(
                Argument("key", _TEXT, required=True, secret=True),
                Argument("slot", ValueSchema(SchemaType.INTEGER)),
            ),
        ),
    ),
)
SETTINGS: dict[str, dict[str, Value]] = {
    EAR: {"name": "Wheelhouse"},
    CARRIER: {"mode": "narrow", "bandwidth_hz": 200_000, "squelch_dbm": -90.0, "rf_power_mw": 10.0, "rf_on": True},
    OUTPUT: {"level_db": 0.0},
}


class EarHand(Hand):
    """Feeds a pipeline with the in-ear transmitter's words."""

    def greet(self, boot_id: str = "b1") -> None:
        """It comes into contact and reports its settings."""
        self.boots[EAR] = boot_id
        described = DESCRIPTION
        self.give(Contact(self.at, EAR, ContactState.FRESH, boot_id=boot_id, description=described))
        self.heartbeat(EAR)
        for address, settings in SETTINGS.items():
            self.report(EAR, address, settings, complete=True)

    def do(self, act: Act) -> tuple[Event, ...]:
        return self.give(OperatorAction(self.at, "Engineer", act))

    def act(
        self, name: str, target: str = EAR, command_id: str = "a1", arguments: Mapping[str, Value] | None = None
    ) -> tuple[Event, ...]:
        return self.do(RequestAct(command_id, target, name, arguments or {}))

    def says(self, answer: Answer, command_id: str = "a1", result: Mapping[str, Value] | None = None) -> None:
        said = CommandAnswer(command_id, answer, result=result or {})
        self.give(Observation(self.at, EAR, answers=(said,)))


def ready() -> EarHand:
    """The transmitter in contact."""
    hand = EarHand()
    hand.greet()
    return hand
