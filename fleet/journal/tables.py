"""The tables of the journal's database, portable between SQLite and PostgreSQL.

The current state of each alarm and each command is kept as the event that brought it there, so that one codec and its
upcasts read everything.
"""

from __future__ import annotations

import sqlalchemy as sa

METADATA = sa.MetaData()
_WHOLE = sa.BigInteger().with_variant(sa.Integer, "sqlite")

META = sa.Table(
    "meta",
    METADATA,
    sa.Column("key", sa.Text, primary_key=True),
    sa.Column("value", _WHOLE, nullable=False),
)

EVENTS = sa.Table(
    "events",
    METADATA,
    sa.Column("sequence", _WHOLE, primary_key=True, autoincrement=False),
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("address", sa.Text, nullable=False),
    sa.Column("at_utc_us", _WHOLE, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Index("events_by_kind", "kind", "sequence"),
    sa.Index("events_by_address", "address", "sequence"),
)

ALARMS = sa.Table(
    "alarms",
    METADATA,
    sa.Column("alarm_id", sa.Text, primary_key=True),
    sa.Column("state", sa.Text, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Index("alarms_by_state", "state"),
)

COMMANDS = sa.Table(
    "commands",
    METADATA,
    sa.Column("command_id", sa.Text, primary_key=True),
    sa.Column("state", sa.Text, nullable=False),
    sa.Column("target", sa.Text, nullable=False),
    sa.Column("requested_utc_us", _WHOLE, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
    sa.Index("commands_by_state", "state"),
    sa.Index("commands_by_request", "requested_utc_us", "command_id"),
)

DOCUMENTS = sa.Table(
    "documents",
    METADATA,
    sa.Column("kind", sa.Text, primary_key=True),
    sa.Column("name", sa.Text, primary_key=True),
    sa.Column("revision", _WHOLE, primary_key=True, autoincrement=False),
    sa.Column("by", sa.Text, nullable=False),
    sa.Column("at_utc_us", _WHOLE, nullable=False),
    sa.Column("body", sa.Text, nullable=False),
)

PEOPLE = sa.Table(
    "people",
    METADATA,
    sa.Column("name_key", sa.Text, primary_key=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("roles", sa.Text, nullable=False),
    sa.Column("disabled", sa.Boolean, nullable=False),
    sa.Column("made_utc_us", _WHOLE, nullable=False),
    sa.Column("password_hash", sa.Text, nullable=False),
)

SESSIONS = sa.Table(
    "sessions",
    METADATA,
    sa.Column("session_id", sa.Text, primary_key=True),
    sa.Column("secret_hash", sa.Text, nullable=False, unique=True),
    sa.Column("person", sa.Text, nullable=False),
    sa.Column("roles", sa.Text, nullable=False),
    sa.Column("way", sa.Text, nullable=False),
    sa.Column("opened_utc_us", _WHOLE, nullable=False),
    sa.Column("expires_utc_us", _WHOLE, nullable=False),
)

TOKENS = sa.Table(
    "tokens",
    METADATA,
    sa.Column("token_id", sa.Text, primary_key=True),
    sa.Column("secret_hash", sa.Text, nullable=False, unique=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("person", sa.Text, nullable=False),
    sa.Column("roles", sa.Text, nullable=False),
    sa.Column("made_utc_us", _WHOLE, nullable=False),
    sa.Column("expires_utc_us", _WHOLE, nullable=False),
    sa.Column("last_used_utc_us", _WHOLE, nullable=True),
)
