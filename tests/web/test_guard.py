"""Whom the pages answer, and which forms they take."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from backprobe.jobs.store import Store
from backprobe.web.app import Serving
from backprobe.web.guard import LOOPBACK, MAX_BODY, PAIRED
from backprobe.web.pairing import LASTS, OFFERED, TRIES, WINDOW, Pairing
from tests.web.helpers import HERE, post, token, visitor

LAN = "http://192.0.2.7:8765"
RUN = {"title": "x", "run": "battery+ > fuse F1 5 A > key > relay coil K1 90 ohm > frame"}


@pytest.fixture
def store() -> Iterator[Store]:
    with Store.open(":memory:") as store:
        yield store


@pytest.fixture
def here(store: Store) -> Iterator[TestClient]:
    with visitor(store) as client:
        yield client


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1.evil.example", "192.0.2.7", "", "[", "localhost@evil"]
)
def test_a_name_that_is_not_ours_is_not_answered(here: TestClient, host: str) -> None:
    assert here.get("/", headers={"host": host}).status_code == 400


@pytest.mark.parametrize("host", ["127.0.0.1:8765", "localhost", "LOCALHOST:1", "[::1]:8765"])
def test_our_own_names_are_answered(here: TestClient, host: str) -> None:
    assert here.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": HERE, "sec-fetch-site": "cross-site"},
        {"origin": "", "referer": "http://evil.example/page"},
    ],
)
def test_a_form_of_another_page_does_nothing(here: TestClient, store: Store, headers: dict[str, str]) -> None:
    assert post(here, "/jobs", RUN, headers=headers).status_code == 403
    assert store.jobs() == []


@pytest.mark.parametrize("wrong", ["", "0" * 32, "ä"])
def test_a_form_without_its_token_does_nothing(here: TestClient, store: Store, wrong: str) -> None:
    token(here)
    answer = here.post("/jobs", data={**RUN, "token": wrong}, headers={"origin": HERE})
    assert answer.status_code == 403
    assert "nothing was done" in answer.text
    assert store.jobs() == []


def test_the_token_of_another_browser_is_no_good(here: TestClient, store: Store) -> None:
    with visitor(store) as other:
        stolen = token(other)
    assert here.post("/jobs", data={**RUN, "token": stolen}).status_code == 403


def test_our_own_form_is_taken_with_and_without_an_origin(here: TestClient, store: Store) -> None:
    assert post(here, "/jobs", RUN).status_code == 303
    good = token(here)
    assert here.post("/jobs", data={**RUN, "token": good}).status_code == 303
    assert len(store.jobs()) == 2


@pytest.mark.parametrize(
    ("content", "kind", "status"),
    [
        (b'{"title": "x"}', "application/json", 415),
        (b"x", "text/plain", 415),
        (b"title=" + b"x" * MAX_BODY, "application/x-www-form-urlencoded", 413),
        (b"no parts at all", "multipart/form-data; boundary=b", 400),
        (b"", "multipart/form-data", 400),
    ],
)
def test_what_is_no_form_is_refused(here: TestClient, content: bytes, kind: str, status: int) -> None:
    assert here.post("/jobs", content=content, headers={"content-type": kind}).status_code == status


@pytest.mark.parametrize("method", ["PUT", "DELETE", "PATCH", "OPTIONS"])
def test_other_methods_are_refused(here: TestClient, method: str) -> None:
    assert here.request(method, "/").status_code == 405


def test_every_answer_has_the_headers(here: TestClient) -> None:
    for address in ("/", "/nothing", "/static/page.css", "/job/zzzzz"):
        headers = here.get(address).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        # `no-referrer` makes browsers send `Origin: null` with a page's own forms.
        assert headers["referrer-policy"] == "same-origin"
        assert headers["x-content-type-options"] == "nosniff"


def test_the_session_is_a_strict_cookie(here: TestClient) -> None:
    cookie = here.get("/").headers["set-cookie"]
    assert "SameSite=Strict" in cookie
    assert "HttpOnly" in cookie
    assert "set-cookie" not in here.get("/").headers


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:x", ""]
)
def test_no_form_leads_away(here: TestClient, back: str) -> None:
    answer = post(here, "/language", {"language": "de", "back": back})
    assert answer.status_code == 303
    assert answer.headers["location"] == "/"


# --- the phone beside the laptop ------------------------------------------------------------


def lan(pairing: Pairing) -> Serving:
    return Serving(LOOPBACK | {"192.0.2.7"}, LAN, pairing)


def phone_of(store: Store, pairing: Pairing) -> TestClient:
    client = visitor(store, address="192.0.2.50", serving=lan(pairing))
    client.base_url = LAN
    return client


def pair(client: TestClient, code: str) -> bool:
    fields = {"token": token(client, "/pair?code=x"), "code": code}
    client.post("/pair", data=fields, headers={"origin": LAN})
    return PAIRED in client.cookies


def test_a_phone_is_answered_only_after_pairing(store: Store) -> None:
    pairing = Pairing()
    phone = phone_of(store, pairing)
    assert phone.get("/").status_code == 403
    assert phone.get("/phone").status_code == 403
    assert "Scan" in phone.get("/pair").text
    assert pair(phone, pairing.offer())
    assert phone.get("/").status_code == 200


def test_a_code_lets_one_phone_in_once(store: Store) -> None:
    pairing = Pairing()
    code = pairing.offer()
    assert pair(phone_of(store, pairing), code)
    other = phone_of(store, pairing)
    assert not pair(other, code)
    assert other.get("/").status_code == 403


def test_looking_at_the_page_of_a_code_does_not_spend_it(store: Store) -> None:
    # A messenger that shows a preview of a link opens it first.
    pairing = Pairing()
    code = pairing.offer()
    phone_of(store, pairing).get(f"/pair?code={code}")
    assert pair(phone_of(store, pairing), code)


def test_a_phone_that_claims_to_be_the_laptop_is_none(store: Store) -> None:
    phone = phone_of(store, Pairing())
    for headers in ({"host": "127.0.0.1"}, {"x-forwarded-for": "127.0.0.1"}, {"cookie": f"{PAIRED}=guess"}):
        assert phone.get("/", headers=headers).status_code == 403


def test_the_laptop_shows_a_code_and_the_phone_does_not(store: Store) -> None:
    pairing = Pairing()
    with visitor(store, serving=lan(pairing)) as laptop:
        shown = laptop.get("/phone").text
    found = re.search(rf"{LAN}/pair\?code=([\w-]+)", shown)
    assert found
    assert "<svg" in shown
    phone = phone_of(store, pairing)
    assert pair(phone, found[1])
    assert "pair?code" not in phone.get("/phone").text


def test_codes_grow_old_and_only_the_newest_are_good() -> None:
    now = [0.0]
    pairing = Pairing(lambda: now[0])
    first = pairing.offer()
    later = [pairing.offer() for _ in range(OFFERED)]
    assert pairing.admit(first) is None
    assert pairing.admit(later[0])
    now[0] = LASTS + 1
    assert pairing.admit(later[1]) is None


def test_guessing_is_slowed_for_everybody() -> None:
    now = [0.0]
    pairing = Pairing(lambda: now[0])
    code = pairing.offer()
    for guess in range(TRIES):
        assert pairing.admit(str(guess)) is None
    assert pairing.slowed
    assert pairing.admit(code) is None, "not even the right one is looked at"
    now[0] = WINDOW + 1
    assert pairing.admit(code), "it is no longer slowed"
