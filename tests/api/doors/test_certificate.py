"""The house's own authority: what it vouches for, when it renews, and that TLS takes it."""

import datetime as dt
import ssl
import stat

import httpx
import pytest
from cryptography import x509
from typer.testing import CliRunner

from api.cli import app
from api.doors import certificate
from api.doors.own_names import own_names
from logger.errors import SettingsError

NOW = dt.datetime(2026, 9, 21, tzinfo=dt.UTC)
NAMES = ("stillhouse.local", "stillhouse", "192.168.7.1", "fd00::1")


def made(data, names=NAMES, now=NOW, **more):
    return certificate.see_to(data, names, now, **more)


def read(file):
    return x509.load_pem_x509_certificates(file.read_bytes())


def test_it_is_made_once_and_renewed_near_its_end_by_the_same_authority(tmp_path):
    first = made(tmp_path)
    assert first.renewed
    assert first.new_authority
    again = made(tmp_path, now=NOW + dt.timedelta(days=300))
    assert not again.renewed
    later = made(tmp_path, now=NOW + dt.timedelta(days=360))
    assert later.renewed
    assert not later.new_authority
    assert later.fingerprint == first.fingerprint
    assert later.until > first.until
    much_later = made(tmp_path, now=NOW + dt.timedelta(days=3400))
    assert much_later.new_authority  # before it ends, not after


def test_a_name_that_comes_up_is_certified_and_a_new_authority_made_only_where_it_must(tmp_path):
    made(tmp_path)
    private = made(tmp_path, (*NAMES, "10.0.0.7", "other.lan"))
    assert (private.renewed, private.new_authority) == (True, False)
    public = made(tmp_path, (*NAMES, "still.example.org"))
    assert public.new_authority


def test_it_holds_no_longer_than_browsers_take_and_names_what_it_is_for(tmp_path):
    files = made(tmp_path).files
    service, authority = read(files.service)
    assert authority == read(files.authority)[0]
    lasts = service.not_valid_after_utc - service.not_valid_before_utc
    assert lasts <= dt.timedelta(days=398)  # CA/Browser Forum baseline requirements, 6.3.2
    names = service.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    assert set(names.get_values_for_type(x509.DNSName)) == {"stillhouse", "stillhouse.local"}
    assert not service.extensions.get_extension_for_class(x509.BasicConstraints).value.ca
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    permitted = {str(one.value) for one in limits.value.permitted_subtrees}
    assert {"local", "stillhouse", "192.168.0.0/16", "fc00::/7"} <= permitted
    assert not {"0.0.0.0/0", "::/0", "com", ""} & permitted


def test_keys_are_for_the_owner_of_the_folder_only(tmp_path):
    files = made(tmp_path).files
    for key in (files.authority_key, files.service_key):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert stat.S_IMODE(files.folder.stat().st_mode) == 0o700


def test_a_file_that_is_none_is_told(tmp_path):
    files = made(tmp_path).files
    files.authority_key.write_text("no key")
    with pytest.raises(SettingsError, match="is no key of this authority"):
        made(tmp_path)
    files.authority.write_text("no certificate")
    with pytest.raises(SettingsError, match="is no certificate in PEM"):
        made(tmp_path)


def test_the_machines_own_names_are_among_those_certified():
    names = own_names()
    assert {"localhost", "127.0.0.1", "::1"} <= set(names)
    assert any(name.endswith(".local") for name in names)


def test_the_authoritys_certificate_is_there_for_a_phone(client, stillhouse):
    assert client.elsewhere().get("/api/doors/authority.crt").status_code == 404
    files = made(stillhouse.data).files
    answer = client.elsewhere().get("/api/doors/authority.crt")
    assert answer.headers["content-type"] == "application/x-x509-ca-cert"
    assert x509.load_der_x509_certificate(answer.content) == read(files.authority)[0]


def taken(address, trusting):
    try:
        return httpx.get(address, verify=trusting).status_code == httpx.codes.OK
    except httpx.ConnectError:
        return False


@pytest.mark.system
def test_the_service_serves_with_it_and_takes_a_renewed_one(start, tmp_path, free_port):
    told = CliRunner().invoke(app, ["certificate", "--data", str(tmp_path)])
    assert "The certificate is made" in told.output
    files = certificate.Files(tmp_path / certificate.FOLDER)
    tls = ("--tls-cert", files.service, "--tls-key", files.service_key)
    process = start("serve", "--data", tmp_path, "--port", free_port, *tls)
    process.says(f"Wormtub is at https://127.0.0.1:{free_port}")
    trusting = ssl.create_default_context(cafile=str(files.authority))
    address = f"https://localhost:{free_port}/api/alive"
    assert httpx.get(address, verify=trusting).json() == {"alive": True}
    with pytest.raises(httpx.ConnectError, match="CERTIFICATE_VERIFY_FAILED"):
        httpx.get(address)
    CliRunner().invoke(app, ["certificate", "--anew", "--data", str(tmp_path)])
    renewed = ssl.create_default_context(cafile=str(files.authority))
    process.until(lambda: taken(address, renewed), says="the renewed certificate in use")
    alone = start("serve", "--data", tmp_path / "other", *tls[:2])
    assert alone.ends() == 2
    assert "needs both --tls-cert and --tls-key" in alone.text
