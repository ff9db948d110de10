"""The house's own certificate authority, and the service's certificate from it.

Phones want HTTPS for offline entry and notifications, and no public authority certifies a name
on a home network. The authority's key stays on the machine; its certificate says itself that it
vouches for nothing but names and addresses of private networks (RFC 5280, 4.2.1.10), so a phone
that trusts it trusts it for this and no other site.
"""

import datetime as dt
import os
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_network
from pathlib import Path
from typing import Final

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from api.doors.addresses import HOME_DOMAINS, Address, address_of
from logger.errors import SettingsError, StoreError

FOLDER: Final = "tls"
AUTHORITY_LASTS: Final = dt.timedelta(days=3650)
LASTS: Final = dt.timedelta(days=397)  # what browsers take of any certificate at most
RENEWED_BEFORE: Final = dt.timedelta(days=45)
BACKDATED: Final = dt.timedelta(days=2)  # a machine without a clock of its own may start early
PRIVATE: Final[tuple[IPv4Network | IPv6Network, ...]] = tuple(
    ip_network(one)
    for one in (
        "127.0.0.0/8", "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16",
        "100.64.0.0/10", "::1/128", "fc00::/7", "fe80::/10",
    )  # RFC 1122, 1918, 3927, 6598, 4291, 4193
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Files:
    """Where the authority and the service's certificate lie."""

    folder: Path

    @property
    def authority(self) -> Path:
        """Return the file of the authority's certificate."""
        return self.folder / "authority.pem"

    @property
    def authority_key(self) -> Path:
        """Return the file of the authority's key."""
        return self.folder / "authority.key"

    @property
    def service(self) -> Path:
        """Return the file of the service's certificate, with the authority's behind it."""
        return self.folder / "service.pem"

    @property
    def service_key(self) -> Path:
        """Return the file of the service's key."""
        return self.folder / "service.key"


@dataclass(frozen=True, slots=True)
class Made:
    """What stands after it was seen to: the files, what is certified, and whether it is new."""

    files: Files
    names: tuple[str, ...]
    until: dt.datetime
    fingerprint: str  # of the authority
    renewed: bool
    new_authority: bool


def see_to(data: Path, names: Sequence[str], now: dt.datetime, *, anew: bool = False) -> Made:
    """Make what is missing, and renew what ends soon or does not hold for every name."""
    files = Files(data / FOLDER)
    wanted = tuple(sorted(set(names)))
    try:
        files.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        authority, key, new_authority = _authority(files, wanted, now, anew=anew)
        renewed = new_authority or anew or not _serves(files, authority, wanted, now)
        if renewed:
            _issue(files, authority, key, wanted, now)
        service = _read(files.service)
    except OSError as error:
        raise StoreError(
            f"The certificate cannot be kept in {files.folder} ({error.strerror}): make the "
            "folder writable for this user."
        ) from None
    return Made(
        files, wanted, service.not_valid_after_utc, fingerprint(authority), renewed, new_authority
    )


def authority_der(data: Path) -> bytes | None:
    """Return the authority's certificate as a phone takes it; None where there is none."""
    file = Files(data / FOLDER).authority
    return _read(file).public_bytes(Encoding.DER) if file.is_file() else None


def fingerprint(certificate: x509.Certificate) -> str:
    """Return the SHA-256 fingerprint, as phones show it to compare."""
    return certificate.fingerprint(hashes.SHA256()).hex(":").upper()


def _authority(
    files: Files, names: Sequence[str], now: dt.datetime, *, anew: bool
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey, bool]:
    """Return the authority, making one where there is none that may vouch for the names."""
    if not anew and files.authority.is_file() and files.authority_key.is_file():
        found, key = _read(files.authority), _read_key(files.authority_key)
        if now < found.not_valid_after_utc - LASTS and all(_within(found, one) for one in names):
            return found, key, False
    key = ec.generate_private_key(ec.SECP256R1())
    made = _authority_for(key, names, now)
    _write(files.authority_key, _pem(key), secret=True)
    _write(files.authority, made.public_bytes(Encoding.PEM))
    return made, key, True


def _authority_for(
    key: ec.EllipticCurvePrivateKey, names: Sequence[str], now: dt.datetime
) -> x509.Certificate:
    subject = _name(f"Wormtub authority of this house, {now:%Y-%m-%d}")
    return (
        _begun(subject, subject, key, now, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(_permitted(names), None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _issue(
    files: Files,
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    names: Sequence[str],
    now: dt.datetime,
) -> None:
    key = ec.generate_private_key(ec.SECP256R1())
    signer = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    made = (
        _begun(_name("Wormtub"), authority.subject, key, now, LASTS)
        .add_extension(
            x509.SubjectAlternativeName([_general(one) for one in names]), critical=False
        )
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(signer), critical=False
        )
        .sign(authority_key, hashes.SHA256())
    )
    _write(files.service_key, _pem(key), secret=True)
    _write(files.service, made.public_bytes(Encoding.PEM) + authority.public_bytes(Encoding.PEM))


def _begun(
    subject: x509.Name,
    issuer: x509.Name,
    key: ec.EllipticCurvePrivateKey,
    now: dt.datetime,
    lasts: dt.timedelta,
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BACKDATED)
        .not_valid_after(now - BACKDATED + lasts)
    )


def _serves(
    files: Files, authority: x509.Certificate, names: Sequence[str], now: dt.datetime
) -> bool:
    """Say whether the service's certificate is ours, holds long enough, and for every name."""
    if not (files.service.is_file() and files.service_key.is_file()):
        return False
    found = _read(files.service)
    held = found.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return (
        found.issuer == authority.subject
        and now < found.not_valid_after_utc - RENEWED_BEFORE
        and all(_general(one) in held for one in names)
    )


def _within(authority: x509.Certificate, name: str) -> bool:
    """Say whether an authority may vouch for a name."""
    held = authority.extensions.get_extension_for_class(x509.NameConstraints).value
    permitted = [one.value for one in held.permitted_subtrees or ()]
    known = address_of(name)
    if known is not None:
        return any(isinstance(one, IPv4Network | IPv6Network) and known in one for one in permitted)
    return any(
        isinstance(one, str) and (name == one or name.endswith(f".{one}")) for one in permitted
    )


def _permitted(names: Sequence[str]) -> list[x509.GeneralName]:
    """Return what the authority may vouch for: private networks, and the names asked for."""
    hosts = [one for one in names if address_of(one) is None]
    also = [known for one in names if (known := address_of(one)) and not _is_private(known)]
    return [
        *(x509.DNSName(one) for one in sorted({"localhost", *HOME_DOMAINS, *hosts})),
        *(x509.IPAddress(one) for one in PRIVATE),
        *(x509.IPAddress(ip_network(one)) for one in also),
    ]


def _is_private(address: Address) -> bool:
    return any(address in one for one in PRIVATE if one.version == address.version)


def _general(name: str) -> x509.GeneralName:
    known = address_of(name)
    try:
        return x509.DNSName(name) if known is None else x509.IPAddress(known)
    except ValueError:
        raise SettingsError(
            f'"{name[:100]}" is no name a certificate can hold; give one in plain letters.'
        ) from None


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs, key_cert_sign=signs, crl_sign=signs,
        content_commitment=False, key_encipherment=False, data_encipherment=False,
        key_agreement=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _read(file: Path) -> x509.Certificate:
    try:
        return x509.load_pem_x509_certificates(file.read_bytes())[0]
    except ValueError:
        raise SettingsError(
            f"{file} is no certificate in PEM; remove it, and wormtub certificate makes a new one."
        ) from None


def _read_key(file: Path) -> ec.EllipticCurvePrivateKey:
    try:
        key = load_pem_private_key(file.read_bytes(), None)
    except (ValueError, TypeError):
        key = None
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise SettingsError(
            f"{file} is no key of this authority; remove it, and wormtub certificate makes "
            "another authority, which phones must then be told to trust."
        )
    return key


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())


def _write(file: Path, body: bytes, *, secret: bool = False) -> None:
    """Put a file in its place whole; a key is never readable by others, not for a moment."""
    beside = file.with_name(f".{file.name}")
    beside.unlink(missing_ok=True)
    number = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600 if secret else 0o644)
    with os.fdopen(number, "wb") as opened:
        opened.write(body)
        opened.flush()
        os.fsync(opened.fileno())
    beside.replace(file)
