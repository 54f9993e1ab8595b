"""Lists by page: a limit, and a cursor that is the key of the last item given."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Annotated, Any, TypeVar

import msgspec
from fastapi import Depends, Query
from starlette.responses import Response

LIMIT_DEFAULT = 100
LIMIT_MAXIMUM = 1_000
CURSOR_LENGTH_MAXIMUM = 400

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True)
class Paging:
    """Which page is asked for."""

    limit: int
    cursor: str | None


async def paging(
    limit: Annotated[int, Query(ge=1, le=LIMIT_MAXIMUM, description="how many items at the most")] = LIMIT_DEFAULT,
    cursor: Annotated[
        str | None, Query(max_length=CURSOR_LENGTH_MAXIMUM, description="`next` of the page before")
    ] = None,
) -> Paging:
    """The page that the query asks for."""
    return Paging(limit, cursor)


PagingHere = Annotated[Paging, Depends(paging)]


def page(items: Iterable[Item], key: Callable[[Item], str], asked: Paging) -> Response:
    """One page of items, ordered by their keys, so that items that come or go never shift a later page."""
    ordered = sorted(items, key=key)
    after = [item for item in ordered if asked.cursor is None or key(item) > asked.cursor]
    shown = after[: asked.limit]
    return page_response(shown, key(shown[-1]) if len(after) > len(shown) else None)


def page_response(items: Iterable[Any], following: str | None) -> Response:
    """A page as it is sent."""
    return json_response({"items": list(items), "next": following})


def json_response(body: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response:
    """Facts as JSON, by the one codec."""
    return Response(msgspec.json.encode(body), status, headers, "application/json")
