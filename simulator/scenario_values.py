"""The kinds of value that scenarios are written with, and their bounds."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import Meta

from fleet.ids import NAME_PATTERN

Name = Annotated[str, Meta(min_length=1, max_length=64)]
Point = tuple[float, float]
Point3 = tuple[float, float, float]
Positive = Annotated[float, Meta(gt=0)]
Offset = Annotated[float, Meta(ge=0, le=7200)]
Seconds = Annotated[float, Meta(ge=0, le=86_400)]
Window = tuple[Seconds, Seconds]
Delay = Annotated[float, Meta(ge=0, le=2000)]
Loss = Annotated[float, Meta(ge=0, le=200)]
Height = Annotated[float, Meta(gt=0, le=100)]
Current = Annotated[float, Meta(ge=0, le=1000)]
Firmware = Annotated[str, Meta(min_length=1, max_length=64)]
SampleRate = Annotated[int, Meta(ge=8_000, le=768_000)]
Share = Annotated[float, Meta(ge=0, le=1)]
Scalar = bool | int | float | str
Label = Annotated[str, Meta(pattern="^[a-z0-9._-]{1,64}$")]
FieldName = Annotated[str, Meta(pattern=f"^{NAME_PATTERN}$")]
Milliwatts = Annotated[float, Meta(gt=0, le=1000)]
Decibels = Annotated[float, Meta(ge=-60, le=60)]
Diversity = Literal["selection", "maximum_ratio"]
