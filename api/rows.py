"""Rows of the live tables as plain JSON: numbers as numbers, coded readings as words, each with quality and age."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from api.answers import QualityWord, ReadingView, RowView
from api.console import Console, Table
from fleet.model.address import Place, parse_address
from fleet.model.device import Origin
from fleet.model.fields import Field, Kind, Value, column_fields
from fleet.model.moment import Moment
from fleet.model.quality import Quality

AGE_UNKNOWN_100MS = 65_535
_WORDS = tuple(QualityWord[quality.name] for quality in Quality)


def rows_of(console: Console, place: Place) -> list[RowView]:
    """Every row of one kind of thing with its latest readings."""
    picture = console.snapshot()
    devices = {device.device_id: device for device in picture.devices}
    controllers = {view.address: view.controlled_through for view in picture.settings}
    readings = _readings(console.table(place), column_fields(place), console.now())
    rows = []
    for address, found in readings.items():
        device_id = parse_address(address).device_id or controllers.get(address, "")
        exact = picture.exact.get(address, {})
        device = devices.get(device_id)
        contact, origin = (None, Origin.UNKNOWN) if device is None else (device.contact.state, device.origin)
        rows.append(RowView(address, place, device_id, contact, origin, found, exact))
    return rows


def _readings(table: Table, fields: tuple[Field, ...], at: Moment) -> dict[str, dict[str, ReadingView]]:
    ages = table.ages_100ms(at)
    return {
        address: {
            field.name: _reading(field, table.values[column, row], table.qualities[column, row], ages[column, row])
            for column, field in enumerate(fields)
        }
        for row, address in enumerate(table.addresses)
    }


def _reading(field: Field, value: np.floating[Any], quality: np.uint8, age_100ms: np.uint16) -> ReadingView:
    age_s = None if age_100ms == AGE_UNKNOWN_100MS else int(age_100ms) / 10
    return ReadingView(_value(field, float(value)), _WORDS[quality], age_s)


def _value(field: Field, value: float) -> Value | None:
    if math.isnan(value):
        return None
    if field.kind is Kind.BOOLEAN:
        return bool(value)
    if field.kind is Kind.ENUM:
        code = round(value)
        return field.choices[code] if 0 <= code < len(field.choices) else None
    return value
