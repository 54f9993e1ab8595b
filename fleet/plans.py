"""The frequency plans of a console: documents that people edit, searched for and reckoned in processes of their own.

A plan that is put is held against its own request, so that what it says of itself is true.
"""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import partial
from typing import Any, Protocol

import msgspec

from fleet.edits import shown_key
from fleet.errors import InvalidDocument, LimitReached, NotFound, RevisionStale, ValueRefused
from fleet.job_works import CHECK, FIELD, FIND, PRODUCTS, WHAT_IF
from fleet.jobs import Asked, Ended, Keep, Kept
from fleet.journal.documents import Document, Draft
from fleet.model.document import DocumentRevision
from fleet.model.event import DocumentApplied, Event
from fleet.model.forecast import Forecast
from fleet.model.job import Job
from fleet.model.moment import Moment
from fleet.model.plan import PLAN, Near, Plan, PlanFacts, PlanProduct, PlanVerdict, ProductField, Search
from fleet.model.survey import SCAN
from fleet.model.survey_json import scan_of_object
from fleet.planning.coordination.found_plan import stands_as_well, with_found, with_gains
from fleet.planning.coordination.plan_document import plan_of_values
from fleet.planning.spare_looks import with_looks
from fleet.planning.what_if.question import question_of, require_answerable

PLANS_MAXIMUM = 200
TRIES_TO_KEEP = 5
CHANGED_MEANWHILE = "what was asked for was changed meanwhile, so that the plan was left as it stands"
NO_WORSE = "the plan that stands is no worse and was kept"


class Drawer(Protocol):
    """Where documents are kept. Each call waits for the disk and raises JournalUnavailable."""

    def get(self, kind: str, name: str, revision: int | None = None) -> Document:
        """A document as it stands, or as it stood. Raises NotFound."""

    def all_of(self, kind: str) -> tuple[Document, ...]:
        """Each document of a kind as it stands, by name."""

    def revisions(self, kind: str, name: str) -> tuple[Document, ...]:
        """Every revision of a document, oldest first."""

    async def put(self, draft: Draft) -> Document:
        """Keep a new revision. Raises RevisionMissing, RevisionStale and LimitReached."""


class Reckoner(Protocol):
    """Whoever does long work beside the live loop."""

    def start(self, asked: Asked, keep: Keep) -> Job:
        """Begin a job. Raises LimitReached and InvalidRequest."""

    async def reckon(self, work: str, arguments: Mapping[str, Any]) -> Mapping[str, Any]:
        """Do what doesn't take long. Raises LimitReached and InvalidRequest."""


class Diary(Protocol):
    """Where it is told what happened, and what the time is."""

    def now(self) -> Moment:
        """The present moment."""

    def record(self, *events: Event) -> None:
        """Have events committed and then published."""

    async def settled(self) -> None:
        """Return once they are durable, or wait for the disk."""


class Plans:
    """The plans that stand. Reading and writing wait for the disk, beside the loop."""

    def __init__(self, documents: Drawer, reckoner: Reckoner, diary: Diary) -> None:
        self._documents = documents
        self._reckoner = reckoner
        self._diary = diary

    async def all(self) -> tuple[PlanFacts, ...]:
        """Every plan as it stands, by name. Raises JournalUnavailable, as all here do."""
        kept = await asyncio.to_thread(self._documents.all_of, PLAN)
        return tuple(_facts(document) for document in kept)

    async def plan(self, name: str, revision: int | None = None) -> tuple[Plan, int]:
        """A plan as it stands, or as it stood, and its revision. Raises NotFound."""
        document = await asyncio.to_thread(self._documents.get, PLAN, name, revision)
        return _plan(document), document.revision

    async def revisions(self, name: str) -> tuple[DocumentRevision, ...]:
        """Every revision of a plan, newest first. Raises NotFound."""
        kept = await asyncio.to_thread(self._documents.revisions, PLAN, name)
        if not kept:
            raise NotFound(PLAN, name)
        return tuple(DocumentRevision(each.revision, each.by, each.at_utc_us) for each in reversed(kept))

    async def put(self, person: str, name: str, values: Mapping[str, Any], seen: int | None) -> tuple[Plan, int]:
        """Put a plan in place, durably; returns it as it was kept, and its revision.

        ``seen`` is the revision that was read, None for a new plan. What the plan says of its completeness and margin
        is reckoned anew; where its request or its places differ from what stood, it was not found by seed and steps.
        Raises ValueRefused, RevisionMissing, RevisionStale, LimitReached and InvalidRequest; nothing is kept then.
        """
        plan = await asyncio.to_thread(_read, values, name)
        standing = await self._standing(name)
        if standing is None and len(await asyncio.to_thread(self._documents.all_of, PLAN)) >= PLANS_MAXIMUM:
            raise LimitReached("plans", PLANS_MAXIMUM)
        if standing is not None and _is_moved(standing, plan):
            plan = replace(plan, seed=0, steps=0, seconds=0.0, relaxations=())
        return await self._keep_plan(person, name, await self._reckoned(name, plan), seen)

    async def find(self, person: str, name: str, asked: Search) -> Job:
        """Begin a search; at its end the plan gets what was best as a new revision, unless what stands is no worse.

        Raises NotFound, LimitReached, and InvalidRequest while another search for this plan is under way.
        """
        plan, _ = await self.plan(name)
        arguments = {**_given(name, plan), "seed": asked.seed, "seconds": asked.seconds, "steps": asked.steps}
        job = Asked(FIND, arguments, f"{PLAN}/{name}", person, asked.seconds)
        return self._reckoner.start(job, partial(self._keep, person, name, plan, asked.seed))

    async def look_at_spares(self, person: str, name: str, scan_ids: Sequence[str]) -> tuple[Plan, int]:
        """Rank a plan's spares anew by what kept scans heard on them, durably; the plan and its revision.

        Raises NotFound for a plan or a scan, and RevisionStale where somebody was quicker.
        """
        plan, revision = await self.plan(name)
        kept = [await asyncio.to_thread(self._documents.get, SCAN, scan_id) for scan_id in scan_ids]
        scans = [scan_of_object(each.name, each.body) for each in kept]
        looked = await asyncio.to_thread(with_looks, plan, scans, self._diary.now().utc_us, f"{PLAN}/{name}")
        return await self._keep_plan(person, name, looked, revision)

    async def check(self, name: str) -> PlanVerdict:
        """How a plan stands against its request. Raises NotFound, LimitReached and InvalidRequest, as those below."""
        plan, _ = await self.plan(name)
        return await self._verdict(name, plan)

    async def field(self, name: str, zone: str | None) -> ProductField:
        """How many products of a plan fall where; of the carriers heard in a zone, or of all."""
        plan, _ = await self.plan(name)
        _require_zone(plan, zone)
        found = await self._reckoner.reckon(FIELD, {**_given(name, plan), "zone": zone})
        return msgspec.convert(found, ProductField)

    async def products(self, name: str, near: Near) -> tuple[PlanProduct, ...]:
        """The products near a frequency, the worst first, at most a thousand. Raises ValueRefused off the raster."""
        plan, _ = await self.plan(name)
        _require_zone(plan, near.zone)
        raster_hz = plan.request["raster_hz"]
        if near.frequency_hz % raster_hz:
            reason = f"must be a multiple of {raster_hz}"
            raise ValueRefused(f"{PLAN}/{name}", "frequency_hz", reason, {"multipleOf": raster_hz})
        found = await self._reckoner.reckon(PRODUCTS, {**_given(name, plan), **msgspec.to_builtins(near)})
        return msgspec.convert(found["products"], tuple[PlanProduct, ...])

    async def what_if(self, name: str, asked: Mapping[str, Any]) -> Forecast:
        """What changes would do to a plan's carriers; nothing is changed. Raises ValueRefused for what can't be asked.

        ``asked`` is a question in plain JSON values.
        """
        plan, _ = await self.plan(name)
        await asyncio.to_thread(_require_answerable, plan, name, asked)
        found = await self._reckoner.reckon(WHAT_IF, {**_given(name, plan), "question": asked})
        return msgspec.convert(found, Forecast)

    async def _standing(self, name: str) -> Plan | None:
        try:
            return (await self.plan(name))[0]
        except NotFound:
            return None

    async def _verdict(self, name: str, plan: Plan) -> PlanVerdict:
        return msgspec.convert(await self._reckoner.reckon(CHECK, _given(name, plan)), PlanVerdict)

    async def _reckoned(self, name: str, plan: Plan) -> Plan:
        """The plan with what is true of it: whether everybody stands by the rules, and how narrowly."""
        if not plan.carriers:
            return replace(plan, complete=False, worst_margin_hz=None)
        verdict = await self._verdict(name, plan)
        is_whole = not verdict.faults and not verdict.missing
        return replace(plan, complete=is_whole, worst_margin_hz=verdict.worst_margin_hz)

    async def _keep_plan(self, person: str, name: str, plan: Plan, seen: int | None) -> tuple[Plan, int]:
        at = self._diary.now()
        draft = Draft(PLAN, name, msgspec.to_builtins(plan), seen, person, at.utc_us)
        revision = (await self._documents.put(draft)).revision
        self._diary.record(DocumentApplied(at, f"{PLAN}/{name}", revision, person))
        await self._diary.settled()
        return plan, revision

    async def _keep(self, person: str, name: str, searched: Plan, seed: int, ended: Ended) -> Kept:
        """Put what a search found into its plan, as it stands by now."""
        for _ in range(TRIES_TO_KEEP):
            standing, revision = await self.plan(name)
            if standing.request != searched.request or _locked(standing) != _locked(searched):
                return Kept(None, CHANGED_MEANWHILE)
            words, made = "", with_found(standing, ended.best, (seed, ended.seconds))
            if standing.carriers and stands_as_well(standing, await self._verdict(name, standing), ended.best):
                words, made = NO_WORSE, with_gains(standing, ended.best)
            if made == standing:
                return Kept(None, words)
            try:
                return Kept((await self._keep_plan(person, name, made, revision))[1], words)
            except RevisionStale:
                continue  # Somebody was quicker; their change stands beneath the next try.
        return Kept(None, CHANGED_MEANWHILE)


def _read(values: Mapping[str, Any], name: str) -> Plan:
    """The plan in plain JSON values. Raises ValueRefused, which repeats no text of whoever sent it."""
    try:
        return plan_of_values(values, f"{PLAN}/{name}")
    except InvalidDocument as error:
        raise _refused(error, name, values) from error


def _require_answerable(plan: Plan, name: str, asked: Mapping[str, Any]) -> None:
    """Raises ValueRefused where a question about a plan has no answer, at once and not in the process of a job."""
    try:
        require_answerable(plan, question_of(asked))
    except InvalidDocument as error:
        raise _refused(error, name, asked) from error


def _refused(error: InvalidDocument, name: str, values: Mapping[str, Any]) -> ValueRefused:
    said = error.expected
    reason = "must be what the rest of it allows" if _repeats(said, values) else f"must be {said}"
    return ValueRefused(f"{PLAN}/{name}", shown_key(error.key), reason, {})


def _repeats(said: str, value: object) -> bool:
    """Whether a sentence repeats a text that was sent, such as the name of a zone."""
    if isinstance(value, str):
        return value != "" and value in said
    if isinstance(value, Mapping):
        return any(_repeats(said, each) for each in value.values())
    return isinstance(value, Sequence) and any(_repeats(said, each) for each in value)


def _given(name: str, plan: Plan) -> dict[str, Any]:
    return {"file": f"{PLAN}/{name}", "plan": msgspec.to_builtins(plan)}


def _plan(document: Document) -> Plan:
    try:
        return msgspec.convert(document.body, Plan)
    except msgspec.ValidationError as error:
        raise InvalidDocument(f"{document.kind}/{document.name}", "document", "a plan", str(error)) from error


def _facts(document: Document) -> PlanFacts:
    plan = _plan(document)
    return PlanFacts(
        name=document.name,
        title=plan.title,
        revision=document.revision,
        by=document.by,
        at_utc_us=document.at_utc_us,
        carriers=len(plan.carriers),
        asked=_asked(plan.request),
        complete=plan.complete,
        worst_margin_hz=plan.worst_margin_hz,
    )


def _asked(request: Mapping[str, Any]) -> int:
    return sum(int(group["count"]) for group in request["group"])


def _places(plan: Plan) -> set[tuple[str, int]]:
    return {(each.group, each.frequency_hz) for each in plan.carriers}


def _locked(plan: Plan) -> set[tuple[str, int]]:
    return {(each.group, each.frequency_hz) for each in plan.carriers if each.locked}


def _is_moved(standing: Plan, plan: Plan) -> bool:
    return standing.request != plan.request or _places(standing) != _places(plan)


def _require_zone(plan: Plan, zone: str | None) -> None:
    if zone is not None and all(group["zone"] != zone for group in plan.request["group"]):
        raise NotFound("zone", zone)
