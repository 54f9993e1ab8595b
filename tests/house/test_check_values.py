"""The list of published values is whole: each names a test that is there, or says why there is none."""

from __future__ import annotations

import ast

import pytest

from tests.house.tree import ROOT
from tests.published.rows import SUBJECTS, Row
from tests.published.write_up import DOCUMENT, HERE, document, place_of

ROWS = [row for rows in SUBJECTS.values() for row in rows]


@pytest.mark.parametrize("row", ROWS, ids=[row.subject for row in ROWS])
def test_each_names_a_test_that_is_there_or_says_why_not(row: Row) -> None:
    assert bool(row.test) != bool(row.reason)
    if row.test:
        file, _, function = place_of(row).partition("::")
        tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))
        assert function in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_every_file_of_published_values_is_named_by_some_row() -> None:
    named = {place_of(row).partition("::")[0].rpartition("/")[2] for row in ROWS if row.test}
    # Products of the third order belong to planning, whose list comes with it.
    assert {file.name for file in HERE.glob("test_*.py")} - named == {"test_third_order.py"}


def test_nothing_from_memory_is_asserted_but_as_a_shape() -> None:
    remembered = [row for row in ROWS if row.mark == "M" and row.test]
    assert [place_of(row).partition("::")[2] for row in remembered] == ["test_shape_about_the_knee"]


def test_the_document_says_what_the_list_says() -> None:
    assert DOCUMENT.read_text(encoding="utf-8") == document(), "run: python -m tests.published.write_up"
