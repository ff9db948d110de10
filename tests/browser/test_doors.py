"""The sign-in and the page People: the whole way through, as from another machine.

A header that only a proxy adds makes the service see a stranger; see `api.doors.addresses`.
"""

import httpx
import pytest

from tests.asking import PLAIN

STRANGER = {"x-forwarded-for": "192.168.7.20"}
PASSPHRASE = "rye grows on the hill"  # noqa: S105 - of a test


@pytest.fixture(scope="module")
def ann(service):
    body = {"name": "Ann Rye", "role": "own", "passphrase": PASSPHRASE}
    answer = httpx.post(f"{service}api/doors/people", json=body, timeout=20, verify=PLAIN)
    assert answer.status_code == 201, answer.text


def sign_in(page, passphrase):
    page.get_by_label("Name").fill("ann rye")
    page.get_by_label("Passphrase").fill(passphrase)
    page.get_by_role("button", name="Come in").click()


def test_a_stranger_signs_in_and_comes_back_and_leaves(service, ann, open_page, complaints):
    opened = open_page("phone", extra_http_headers=STRANGER, color_scheme="dark")
    opened.forgive("401", "409", "429")  # what is refused is told on the page
    page = opened.page
    page.goto(f"{service}vessels.html?a=1")
    page.wait_for_url("**/doors.html?to=**")
    assert complaints(opened) == []
    sign_in(page, "not the passphrase")
    page.get_by_text("do not fit together").wait_for()
    sign_in(page, PASSPHRASE)
    page.wait_for_url(f"{service}vessels.html?a=1")
    page.goto(f"{service}people.html")
    page.get_by_text("Ann Rye").first.wait_for()
    assert complaints(opened) == []
    page.get_by_role("button", name="Let a program in").click()
    page.get_by_label("What the program is called").fill("scale")
    page.locator("form.entry button.main").click()
    assert page.locator(".once output").inner_text().startswith("wormtub_")
    page.get_by_role("button", name="Done").click()
    page.get_by_role("button", name="scale").wait_for()
    page.get_by_role("button", name="Add a phone").click()
    page.get_by_label("What the phone is called").fill("Ann’s")
    page.locator("form.entry button.main").click()
    page.get_by_text("listens on this machine only").wait_for()
    page.get_by_role("button", name="Sign out", exact=True).last.click()
    page.wait_for_url("**/doors.html?to=people.html")


def test_a_page_that_is_open_goes_to_the_sign_in_when_it_is_signed_out(service, ann, open_page):
    opened = open_page("desk", extra_http_headers=STRANGER)
    opened.forgive("401", "dynamically imported", "apply style")  # what it was still fetching
    page = opened.page
    page.goto(f"{service}doors.html?to=index.html")
    sign_in(page, PASSPHRASE)
    page.wait_for_url(f"{service}index.html")
    page.locator(".rail .none:visible, #sheet .labels li").first.wait_for()
    assert (
        httpx.post(f"{service}api/doors/sign-everybody-out", timeout=20, verify=PLAIN).status_code
        == 204
    )
    page.wait_for_url("**/doors.html?to=index.html", timeout=40_000)


def test_the_way_back_leads_nowhere_else(service, ann, open_page):
    opened = open_page("desk")  # at the machine: led on at once
    for sly in ("https://evil.example/", "//evil.example/", "javascript:alert(1)", "doors.html"):
        opened.page.goto(f"{service}doors.html?to={sly}")
        opened.page.wait_for_url(service)
