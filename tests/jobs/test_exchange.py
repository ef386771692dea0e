"""The exchange file: whole going out, strict coming in, all or nothing."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from enum import Enum
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from backprobe.errors import BackprobeError, JobError
from backprobe.jobs import exchange
from backprobe.jobs.exchange import dumps, export_job, import_job, read_job
from backprobe.jobs.log import JSON, KINDS
from backprobe.jobs.store import Store
from tests.jobs.helpers import open_job, spelling, ticking

ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)

EXPORTED: dict[str, Any] = {
    "format": "backprobe job",
    "version": 1,
    "id": "7f3k9",
    "title": "boom stays locked",
    "machine": "sprayer 3",
    "sheet": {"name": "gate.yaml", "text": "sheet: gate circuit\n"},
    "entries": [
        {"number": 1, "kind": "opened", "at": "2026-03-02T09:15:00Z", "data": {"complaint": "boom dead"}},
        {
            "number": 2,
            "kind": "reading",
            "at": "2026-03-02T09:16:00Z",
            "data": {"volts": [4.25, {"top": 20}]},
        },
        {"number": 3, "kind": "undo", "at": "2026-03-02T09:17:00Z", "data": {"undoes": 2, "why": "slip"}},
        {"number": 4, "kind": "undo", "at": "2026-03-02T09:16:30Z", "data": {"undoes": 3}},
    ],
}


def exported() -> dict[str, Any]:
    return copy.deepcopy(EXPORTED)


def places(value: object) -> Iterator[tuple[Any, Any]]:
    """Yield each container with each key or index in it."""
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in inside:
        yield value, key
        yield from places(item)


def test_an_export_is_written_out_in_full() -> None:
    with Store.open(":memory:", clock=ticking(), choose=spelling("7f3k9")) as store:
        job = store.create("boom stays locked", "sprayer 3", "gate.yaml", "sheet: x\n", {"seat": "empty"})
        store.append(job.id, "reading", {"volts": 4.25})
        assert export_job(store.job(job.id)) == {
            "format": "backprobe job",
            "version": 1,
            "id": "7f3k9",
            "title": "boom stays locked",
            "machine": "sprayer 3",
            "sheet": {"name": "gate.yaml", "text": "sheet: x\n"},
            "entries": [
                {"number": 1, "kind": "opened", "at": "2026-03-02T09:15:00Z", "data": {"seat": "empty"}},
                {"number": 2, "kind": "reading", "at": "2026-03-02T09:15:01Z", "data": {"volts": 4.25}},
            ],
        }


def test_a_job_travels_from_store_to_store_unchanged(tmp_path: Path) -> None:
    with Store.open(tmp_path / "one.sqlite") as one, Store.open(tmp_path / "two.sqlite") as two:
        job = open_job(one)
        for kind in KINDS[1:]:
            data: dict[str, JSON] = {"n": 0.1 + 0.2, "text": "größer als 5 Ω", "f": -0.0, "undoes": 2}
            one.append(job.id, kind, data)
        sent = dumps(export_job(one.job(job.id)))
        received = import_job(two, json.loads(sent))
        assert received == one.job(job.id) == two.job(job.id)
        assert dumps(export_job(two.job(job.id))) == sent


def test_a_job_whose_id_is_taken_gets_another_and_says_so() -> None:
    with Store.open(":memory:", clock=ticking(), choose=spelling("7f3m2")) as store:
        first = import_job(store, exported())
        second = import_job(store, exported())
        assert (first.id, second.id) == ("7f3k9", "7f3m2")
        assert second.entries[:-1] == first.entries
        note = second.entries[-1]
        assert (note.number, note.kind) == (5, "note")
        assert note.data == {"imported as": "7f3m2", "imported from": "7f3k9"}
        assert store.job("7f3m2") == second
    with Store.open(":memory:") as other:
        assert export_job(import_job(other, export_job(second))) == export_job(second)


def change(key: str, value: object) -> Callable[[dict[str, Any]], object]:
    """Return a change of one field, named by its path."""
    *path, last = [int(part) - 1 if part.isdigit() else part for part in key.split(".")]

    def apply(data: dict[str, Any]) -> None:
        place: Any = data
        for part in path:
            place = place[part]
        place[last] = value

    return apply


DEEP: list[object] = []
DEEP.append(DEEP)


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("format", "another job", "another format"),
        ("version", 2, "cannot be read"),
        ("version", True, "cannot be read"),
        ("version", 1.0, "cannot be read"),
        ("id", "7F3K9", "not a job id"),
        ("id", "7f3", "not a job id"),
        ("id", "7f3k9\n", "not a job id"),
        ("id", 7, "not a text"),
        ("title", None, "not a text"),
        ("machine", "\ud83d", "not a whole text"),
        ("sheet", "gate.yaml", "not an object"),
        ("sheet.text", 5, "not a text"),
        ("sheet.text", "a\0b", "NUL"),
        ("sheet.date", "2026", "not a field"),
        ("colour", "red", "not a field"),
        ("entries", [], "not a log"),
        ("entries", {}, "not a log"),
        ("entries.2", None, "not an object"),
        ("entries.2.number", 3, "out of order"),
        ("entries.1.number", True, "out of order"),
        ("entries.2.kind", "guess", "not a kind"),
        ("entries.2.kind", "opened", "cannot be entry 2"),
        ("entries.1.kind", "note", "cannot be entry 1"),
        ("entries.2.at", "2026-03-02T09:16:00", "not a time"),
        ("entries.2.at", "2026-02-30T09:16:00Z", "not a time"),
        ("entries.2.at", 1772442960, "not a time"),
        ("entries.2.by", "me", "not a field"),
        ("entries.2.data", [], "not an object"),
        ("entries.2.data.volts.1", float("nan"), "JSON"),
        ("entries.2.data.volts.2.top", DEEP, "JSON"),
        ("entries.3.data.undoes", 3, "not an entry"),
        ("entries.3.data.undoes", 1, "opened the job"),
        ("entries.4.data.undoes", 2, "already undone"),
    ],
)
def test_a_wrong_field_is_named_by_its_path(tmp_path: Path, key: str, value: object, words: str) -> None:
    data = exported()
    change(key, value)(data)
    with Store.open(tmp_path / "jobs.sqlite") as store, pytest.raises(JobError, match=words) as caught:
        import_job(store, data)
    (problem,) = caught.value.problems
    assert problem.field == key or (value is DEEP and problem.field.startswith(key))
    assert problem.remedy
    str(caught.value).encode()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("key", ["id", "version", "sheet.name", "entries", "entries.3.at", "entries.2.data"])
def test_a_missing_field_is_named_by_its_path(key: str) -> None:
    data = exported()
    *path, last = [int(part) - 1 if part.isdigit() else part for part in key.split(".")]
    place: Any = data
    for part in path:
        place = place[part]
    del place[last]
    with pytest.raises(JobError, match=f"^{key}: is missing"):
        read_job(data)


def test_a_file_that_is_too_large_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    data = exported()
    data["sheet"]["text"] = "x" * 4_999_000
    read_job(data)
    data["entries"][1]["data"]["text"] = "x" * 1000
    with pytest.raises(JobError, match="more than the 5000000 characters"):
        read_job(data)
    monkeypatch.setattr(exchange, "MAX_ENTRIES", 3)
    with pytest.raises(JobError, match="more than the 3"):
        read_job(exported())


@given(ANYTHING)
def test_no_json_at_all_can_break_the_import(data: object) -> None:
    with Store.open(":memory:") as store:
        with pytest.raises(BackprobeError) as caught:
            import_job(store, data)
        assert caught.value.problems
        assert store.jobs() == []


@given(st.data())
def test_a_changed_export_is_stored_whole_or_not_at_all(draws: st.DataObject) -> None:
    data = exported()
    for _ in range(draws.draw(st.integers(1, 2))):
        holder, key = draws.draw(st.sampled_from(list(places(data))))
        if draws.draw(st.booleans()):
            holder[key] = draws.draw(ANYTHING)
        else:
            del holder[key]
        if not data:
            break
    with Store.open(":memory:") as store:
        kept = store.create("kept", "m", "s", "t", {})
        try:
            job = import_job(store, data)
        except BackprobeError as error:
            assert error.problems
            str(error).encode()
            assert [line.id for line in store.jobs()] == [kept.id]
        else:
            assert store.job(job.id) == job
            assert dumps(export_job(job)) == dumps(data)


def test_the_canonical_form_is_the_same_for_the_same_content() -> None:
    assert dumps({"b": [1, 2.5, None, True], "a": "größer\n"}) == '{"a":"größer\\n","b":[1,2.5,null,true]}'
    assert dumps({"a": (1, 2)}) == '{"a":[1,2]}'
    for wrong in (float("nan"), float("-inf"), {1: 2}, {"a": {3}}, object(), 10**5000):
        with pytest.raises(JobError):
            dumps(wrong)


def test_the_deepest_data_that_is_accepted_can_be_exported() -> None:
    def nested(depth: int) -> dict[str, JSON]:
        return {"in": nested(depth - 1)} if depth else {}

    with Store.open(":memory:") as store:
        job = open_job(store)
        store.append(job.id, "note", nested(49))
        text = dumps(export_job(store.job(job.id)))
        assert text.count('{"in":') == 49
        with pytest.raises(JobError, match="50 deep"):
            store.append(job.id, "note", nested(50))


def test_named_constants_are_written_as_their_values() -> None:
    class Colour(str, Enum):  # noqa: UP042 - the older form is the one whose str() is its name
        RED = "RD"

    assert dumps({"wire": Colour.RED}) == '{"wire":"RD"}'


@given(ANYTHING)
def test_what_can_be_dumped_comes_back(data: object) -> None:
    try:
        text = dumps(data)
    except JobError:
        return
    assert dumps(json.loads(text)) == text
    assert json.loads(text) == data
