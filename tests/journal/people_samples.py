"""One event of every kind about people and zones, with every member set."""

from __future__ import annotations

from fleet.model.event import Event
from fleet.model.moment import Moment
from fleet.model.person import HeldRole, Person, PersonChange, SessionFacts, SessionWay, TokenFacts
from fleet.model.person_event import PersonChanged, SessionEnded, SessionOpened, TokenMade, TokenRevoked
from fleet.model.zone import ZoneStep, ZoneWriter, ZoneWriterChanged

AT = Moment(81_000_000, 1_760_000_000_123_456)
ROLES = (HeldRole.VIEWER, HeldRole.OPERATOR)
ALL_ROLES = (*ROLES, HeldRole.ENGINEER, HeldRole.INSTRUCTOR)
SESSION = SessionFacts("5e55", "Stage Left", ROLES, SessionWay.PASSWORD, AT.utc_us, AT.utc_us + 1)
TOKEN = TokenFacts("70c3", "running order", "Stage Left", ROLES, AT.utc_us, AT.utc_us + 1, AT.utc_us)

PEOPLE_EVENTS: tuple[Event, ...] = (
    PersonChanged(AT, Person("Stage Left", ROLES, False, AT.utc_us), PersonChange.ROLES, "Engineer"),
    SessionOpened(AT, SESSION),
    SessionEnded(AT, "5e55", "Stage Left", "revoked", "Engineer"),
    TokenMade(AT, TOKEN, "Stage Left"),
    TokenRevoked(AT, "70c3", "running order", "Stage Left", "revoked", "Engineer"),
    ZoneWriterChanged(
        AT, "Quay", ZoneWriter("Quay", "Stage Left", AT.utc_us, "Engineer"), ZoneStep.FORCED, "Engineer", "alone here"
    ),
)
