"""Nobody but the page that was opened with the one-time address gets anything, and what it sends is limited."""

import pytest

from nesting.desk.guard import LARGEST_BODY_BYTES, Keys
from tests.nesting.desk.conftest import HOST, ORIGIN, PORT

PATHS = ("/", "/static/main.js", "/api/1/state", "/api/1/plans/0/picture", "/api/1/files/board-B1.pdf")


@pytest.mark.parametrize("path", PATHS)
def test_without_the_cookie_nothing_is_given(desk, path):
    assert desk.stranger().get(path).status_code == 401


def test_the_opening_address_works_once(desk):
    assert desk.stranger().get(f"/open?token={desk.keys.token}").status_code == 401


@pytest.mark.parametrize("token", ["", "x", "é", "%00", "a" * 5000])
def test_a_wrong_token_opens_nothing_and_spends_nothing(token):
    keys = Keys(PORT)

    assert keys.exchange(token) is None
    assert keys.exchange(keys.token) is not None


@pytest.mark.parametrize("cookie", ["", "x", ";;;=", "sheetwood-desk-4321=", "sheetwood-desk-4321=wrong", "\x7f=1"])
def test_a_made_up_cookie_is_refused(desk, cookie):
    assert desk.stranger().get("/api/1/state", headers={"cookie": cookie}).status_code == 401


def test_the_cookie_is_out_of_reach_of_scripts_and_other_sites(desk):
    stranger = desk.stranger()
    answer = stranger.get(f"/open?token={Keys(PORT).token}")
    assert "set-cookie" not in answer.headers

    fresh = Keys(PORT)
    desk.app._keys = fresh
    answer = stranger.get(f"/open?token={fresh.token}", follow_redirects=False)

    said = answer.headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said
    assert answer.headers["location"] == "/"


@pytest.mark.parametrize(
    "host", ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example:4321", "", "[::1]"]
)
def test_another_host_name_is_refused_even_with_the_cookie(desk, host):
    assert desk.client.get("/api/1/state", headers={"host": host}).status_code == 421


@pytest.mark.parametrize("host", [HOST, f"localhost:{PORT}", f"[::1]:{PORT}"])
def test_the_names_of_this_machine_are_taken(desk, host):
    cookie = "; ".join(f"{name}={value}" for name, value in desk.client.cookies.items())

    assert desk.stranger().get("/api/1/state", headers={"host": host, "cookie": cookie}).status_code == 200


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "https://127.0.0.1:4321", "http://127.0.0.1:9", ""])
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_foreign_origin_is_refused(desk, method, origin):
    answer = desk.client.request(method, "/api/1/state", headers={"origin": origin})

    assert answer.status_code == 403


def test_a_change_without_an_origin_is_refused(desk):
    assert desk.client.post("/api/1/undo").status_code == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_what_a_browser_says_comes_from_another_site_is_refused(desk, site):
    assert desk.client.get("/api/1/state", headers={"sec-fetch-site": site}).status_code == 403


def test_no_other_site_is_ever_allowed(desk):
    for path in PATHS:
        headers = desk.client.get(path).headers
        assert "access-control-allow-origin" not in headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"


def test_a_body_beyond_the_limit_is_refused(desk):
    answer = desk.client.post("/api/1/edit", content=b" " * (LARGEST_BODY_BYTES + 1), headers=ORIGIN)

    assert answer.status_code == 413
    assert "larger than 2 MB" in answer.json()["error"]["text"]


def test_a_body_that_hides_its_length_is_cut_off_at_the_limit(desk):
    def pieces():
        for _ in range(5):
            yield b" " * (LARGEST_BODY_BYTES // 4)

    answer = desk.client.post("/api/1/edit", content=pieces(), headers=ORIGIN)

    assert answer.status_code == 400
    assert "too large" in answer.json()["error"]["text"]


@pytest.mark.parametrize("length", ["-1", "many", "1e9"])
def test_a_length_that_is_none_is_refused(desk, length):
    assert (
        desk.client.post("/api/1/edit", content=b"{}", headers={**ORIGIN, "content-length": length}).status_code == 413
    )
