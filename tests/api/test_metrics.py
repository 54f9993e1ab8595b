"""The figures, read by the reference parser of the format (prometheus-client)."""

from __future__ import annotations

from prometheus_client.parser import text_string_to_metric_families
from starlette.testclient import TestClient

from api.metrics import metrics_text
from api.roles import Role
from tests.api.conftest import COOKIE, SITE, Stage

Samples = dict[tuple[str, tuple[tuple[str, str], ...]], float]


def samples_of(text: str) -> Samples:
    families = list(text_string_to_metric_families(text))
    assert all(family.documentation and family.type in {"counter", "gauge"} for family in families)
    samples = [sample for family in families for sample in family.samples]
    found = {(sample.name, tuple(sorted(sample.labels.items()))): sample.value for sample in samples}
    assert len(found) == len(samples), "no figure stands twice"
    return found


def test_every_figure_is_what_the_console_says(stage: Stage) -> None:
    answer = stage.client().get("/metrics")
    assert answer.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    found = samples_of(answer.text)
    house = (("device", "house-1"),)
    wanted: Samples = {
        ("redpoll_info", (("version", "0.1.0"),)): 1,
        ("redpoll_device_observations_total", house): 40,
        ("redpoll_device_frames_total", house): 30,
        ("redpoll_device_heartbeats_total", house): 4,
        ("redpoll_device_ingest_lag_seconds", house): 0.25,
        ("redpoll_device_heartbeat_age_seconds", house): 1_700_000_000 - 2e-6,
        ("redpoll_contacts", (("state", "fresh"),)): 1,
        ("redpoll_contacts", (("state", "lost"),)): 0,
        ("redpoll_alarms", (("priority", "1"),)): 0,
        ("redpoll_alarms", (("priority", "2"),)): 1,
        ("redpoll_commands", (("state", "sent"),)): 0,
        ("redpoll_ticks_total", ()): 100,
        ("redpoll_loop_lag_seconds", ()): 0.002,
        ("redpoll_loop_lag_worst_seconds", ()): 0.01,
        ("redpoll_journal_writable", ()): 1,
        ("redpoll_journal_commits_total", ()): 7,
        ("redpoll_journal_commit_failures_total", ()): 1,
        ("redpoll_journal_batches_pending", ()): 2,
        ("redpoll_journal_events_waiting", ()): 0,
        ("redpoll_commands_handing_on", ()): 3,
        ("redpoll_live_connections", ()): 0,
        ("redpoll_subscriptions", ()): 0,
        ("redpoll_subscription_messages_waiting", ()): 0,
    }
    assert {name: found[name] for name in wanted} == wanted
    for name in ("process_cpu_seconds_total", "process_resident_memory_bytes"):
        assert found[name, ()] > 0
    assert found["redpoll_gc_collections_total", (("generation", "0"),)] > 0


def test_a_label_may_hold_anything(stage: Stage) -> None:
    version = 'a "quoted" \\ back\\slash\nand a line'
    assert samples_of(metrics_text(stage.console, version, 0))["redpoll_info", (("version", version),)] == 1


def test_no_name_is_told(stage: Stage) -> None:
    told = stage.client().get("/metrics").text
    assert "Fiddler" not in told
    assert "Keeper" not in told


def test_from_elsewhere_only_a_viewer_is_answered(stage: Stage) -> None:
    def status(host: str, **cookies: str) -> int:
        return TestClient(stage.app, base_url=SITE, cookies=cookies, client=(host, 50_000)).get("/metrics").status_code

    assert status("192.0.2.7") == 401
    assert status("192.0.2.7", **{COOKIE: stage.cookie(Role.VIEWER)}) == 200
    assert status("127.8.8.8") == 200
    assert status("::1") == 200
    assert status("somewhere") == 401
