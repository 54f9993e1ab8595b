"""Messages of the open device protocol as facts of the model: pure, and strict about what was described."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import islice

from fleet.config import DeviceAddress
from fleet.errors import MalformedMessage, SomeoneElse
from fleet.model.act import ActProgress, LevelStretch
from fleet.model.description import addresses_in, problem_with_description
from fleet.model.device import DeviceDescription
from fleet.model.observation import Answer, CommandAnswer, Layout, SettingsReport
from fleet.model.quality import Quality
from fleet.model.secret_names import names_a_secret
from fleet.protocol import messages
from fleet.protocol.codes import ErrorCode
from fleet.protocol.received import Refusal

CELLS_MAXIMUM = 65_536
_REASON_LENGTH_MAXIMUM = 512
_FORM_LENGTH_MAXIMUM = 128
_RESULTS_MAXIMUM = 32
_RESULT_LENGTH_MAXIMUM = 256
_ANSWERS_TO_REFUSALS = {
    ErrorCode.PARTLY_DONE: Answer.PARTLY_DONE,
    ErrorCode.OUTCOME_UNKNOWN: Answer.UNKNOWN,
    ErrorCode.INTERNAL_ERROR: Answer.UNKNOWN,
}


def known_in(description: DeviceDescription, device_id: str) -> frozenset[str]:
    """The addresses that the device may speak of. Raises MalformedMessage when its description makes no sense."""
    problem = problem_with_description(description, device_id)
    if problem is not None:
        raise MalformedMessage(f"the description makes no sense: {problem}")
    return frozenset(address for _, address in addresses_in(description))


def require_known(addresses: Iterable[str], known: frozenset[str]) -> None:
    """Raise MalformedMessage when a device speaks of something it didn't describe."""
    for address in addresses:
        if address not in known:
            raise MalformedMessage(f"the device speaks of {address[:64]!r}, which it doesn't describe")


def layout_of(result: messages.SubscribeResult, known: frozenset[str]) -> Layout:
    """The layout of a subscription's frames.

    Raises MalformedMessage when a cell is unknown or stands twice, or there are too many.
    """
    require_known((entry.address for entry in result.layout), known)
    cells = tuple((entry.address, reading) for entry in result.layout for reading in entry.readings)
    if len(cells) > CELLS_MAXIMUM:
        raise MalformedMessage(f"a layout of {len(cells)} values; at most {CELLS_MAXIMUM}")
    if len(set(cells)) != len(cells):
        raise MalformedMessage("the layout names a reading twice")
    return Layout(cells, result.interval_ms)


def reports_of(result: messages.ReadResult, known: frozenset[str]) -> tuple[SettingsReport, ...]:
    """Complete reports of all that was read."""
    require_known((entry.address for entry in result.settings), known)
    return tuple(
        SettingsReport(entry.address, entry.revision, entry.settings, complete=True, quality=Quality(entry.quality))
        for entry in result.settings
    )


def report_of(changed: messages.Changed, known: frozenset[str]) -> SettingsReport:
    """The report of a change."""
    require_known((changed.address,), known)
    return SettingsReport(changed.address, changed.revision, changed.settings, changed.cause, changed.command_id)


def answer_of_outcome(outcome: messages.Outcome) -> CommandAnswer:
    """What an outcome says of its command. A key that a device gives back is kept nowhere."""
    told = {name: value for name, value in outcome.result.items() if not names_a_secret(name)}
    result = {
        name: value[:_RESULT_LENGTH_MAXIMUM] if isinstance(value, str) else value
        for name, value in islice(told.items(), _RESULTS_MAXIMUM)
    }
    answer = Answer(outcome.outcome)
    return CommandAnswer(outcome.command_id, answer, outcome.reason, outcome.refused_fields, result)


def progress_of(progress: messages.Progress) -> ActProgress:
    """How far a device says an act is."""
    levels = progress.levels
    found = None
    if levels is not None:
        found = LevelStretch(
            start_hz=levels.start_hz,
            step_hz=levels.step_hz,
            bandwidth_hz=levels.bandwidth_hz,
            levels_dbm=tuple(levels.levels_dbm),
            branch=levels.branch,
            calibrated=levels.calibrated,
        )
    return ActProgress(progress.command_id, progress.fraction, progress.words, found)


def is_gateway(hello: messages.HelloResult, listed_id: str) -> bool:
    """Whether a gateway greets: it lists several devices, or one that has another id and a boot of its own."""
    if len(hello.devices) != 1:
        return True
    only = hello.devices[0]
    return only.id != listed_id and bool(only.boot_id)


def gateway_description(hello: messages.HelloResult, gateway_id: str) -> DeviceDescription:
    """What is known of a gateway, which describes no more of itself than whom it presents."""
    return DeviceDescription(
        device_id=gateway_id,
        kind="gateway",
        form=f"presents {', '.join(summary.id for summary in hello.devices)}"[:_FORM_LENGTH_MAXIMUM],
        simulated=all(summary.simulated for summary in hello.devices),
        read_only=True,
    )


def answer_of_refusal(command_id: str, refusal: Refusal) -> CommandAnswer:
    """What an error answer to a write says of its command."""
    answer = Answer.REFUSED
    for code, other in _ANSWERS_TO_REFUSALS.items():
        if refusal.code == code:
            answer = other
    reason = f"{refusal.word}: {refusal.words}" if refusal.words else refusal.word
    return CommandAnswer(command_id, answer, reason[:_REASON_LENGTH_MAXIMUM], _fields_of(refusal.data))


def _fields_of(data: Mapping[str, object]) -> dict[str, str]:
    fields = data.get("fields")
    if not isinstance(fields, Mapping):
        return {}
    return {str(name)[:64]: str(reason)[:_REASON_LENGTH_MAXIMUM] for name, reason in fields.items()}


def require_listed(device_id: str, *, simulated: bool, listed: DeviceAddress) -> None:
    """Raise SomeoneElse unless a device is the one that the list says lives there, real or simulated as it says."""
    if device_id != listed.device_id:
        raise SomeoneElse(device_id, f"the device there says it is {device_id}")
    if listed.simulated is not None and simulated is not listed.simulated:
        words = ("a real device", "a simulated one")
        found, wanted = words[simulated], words[listed.simulated]
        raise SomeoneElse(device_id, f"it says it is {found}, and the device list expects {wanted}")
