"""A value is held against the schema its capability gives."""

from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.model.capability import SchemaType, ValueSchema, problem_with

TRIM = ValueSchema(SchemaType.INTEGER, minimum=-12, maximum=12, multiple_of=3)
POWER = ValueSchema(SchemaType.NUMBER, enum=(2, 10, 50))
FREQUENCY = ValueSchema(SchemaType.INTEGER, minimum=470_000_000, maximum=694_000_000, multiple_of=25_000)


@pytest.mark.parametrize(
    ("schema", "value"),
    [
        (TRIM, -12),
        (TRIM, 0),
        (POWER, 50),
        (FREQUENCY, 614_725_000),
        (ValueSchema(SchemaType.BOOLEAN), False),
        (ValueSchema(SchemaType.STRING), "Keeper"),
        (ValueSchema(SchemaType.NUMBER, minimum=0.1, multiple_of=0.1), 0.3),
    ],
)
def test_allows(schema: ValueSchema, value: object) -> None:
    assert problem_with(schema, value) is None


@pytest.mark.parametrize(
    ("schema", "value", "words"),
    [
        (TRIM, 15, "at most 12"),
        (TRIM, -13, "at least -12"),
        (TRIM, 1, "step of 3"),
        (TRIM, 3.0, "must be an integer"),
        (TRIM, True, "must be an integer"),
        (POWER, 20, "one of 2, 10, 50"),
        (FREQUENCY, 614_710_000, "step of 25000"),
        (ValueSchema(SchemaType.NUMBER), float("nan"), "finite"),
        (ValueSchema(SchemaType.NUMBER), float("inf"), "finite"),
        (ValueSchema(SchemaType.BOOLEAN), 1, "must be a boolean"),
        (ValueSchema(SchemaType.STRING), "x" * 65, "at most 64 characters"),
        (ValueSchema(SchemaType.STRING), "a\u202eb", "printable"),
        (ValueSchema(SchemaType.STRING), None, "must be a string"),
    ],
)
def test_refuses_with_the_reason(schema: ValueSchema, value: object, words: str) -> None:
    problem = problem_with(schema, value)
    assert problem is not None
    assert words in problem


@given(st.integers(-40, 40), st.integers(-9, 0), st.integers(1, 9), st.sampled_from([1, 2, 3]))
def test_agrees_with_a_reference_validator(value: int, low_steps: int, high_steps: int, step: int) -> None:
    """jsonschema is the outside check; bounds are multiples of the step, where both count steps alike."""
    minimum, maximum = low_steps * step, high_steps * step
    fragment: dict[str, Any] = {"type": "integer", "minimum": minimum, "maximum": maximum, "multipleOf": step}
    ours = ValueSchema(SchemaType.INTEGER, minimum=minimum, maximum=maximum, multiple_of=step)
    assert (problem_with(ours, value) is None) == jsonschema.Draft202012Validator(fragment).is_valid(value)


@pytest.mark.parametrize("value", [10**400, -(10**400), 10**16])
def test_a_number_that_no_double_holds_is_refused_in_words(value: int) -> None:
    for kind in (SchemaType.INTEGER, SchemaType.NUMBER):
        assert problem_with(ValueSchema(kind), value) == "must lie from -1e+15 to 1e+15"
