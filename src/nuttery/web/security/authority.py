"""The server's own certificate authority, so that phones reach it over HTTPS on a local network.

The authority may vouch for private addresses and local names only, so that a phone that trusts it
is no worse off on the public web. Its key stays in the server's folder, for its owner's eyes.
"""

import ipaddress
import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

LEAF_LASTS = timedelta(days=397)
"""The longest that phones take for a server; the limit of the browsers' root programs (2020)."""
AUTHORITY_LASTS = timedelta(days=3650)
RENEW_BEFORE = timedelta(days=60)
PRIVATE = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8",
    "100.64.0.0/10", "fc00::/7", "fe80::/10", "::1/128",
)  # fmt: skip
"""Private and shared address ranges: RFC 1918, 3927, 6598, 4193, 4291."""
LOCAL_NAMES = ("local", "localhost", "home.arpa", "internal")


@dataclass(frozen=True)
class Certificates:
    """Files with which a server speaks HTTPS, and what a phone is to trust.

    Attributes
    ----------
    chain, key : for the server
    authority : the authority's certificate
    fingerprint : its SHA-256, to compare by eye
    """

    chain: Path
    key: Path
    authority: Path
    fingerprint: str


def certificates(folder: Path, names: tuple[str, ...], now: datetime) -> Certificates:
    """Return certificates for some names and addresses; made, or renewed, where need be.

    Parameters
    ----------
    folder : the server's own folder
    names : host names and IP addresses under which it answers
    now : the present moment

    Raises
    ------
    ValueError
        If a name is neither local nor an address of a private range: the authority may not
        vouch for it.
    """
    _refuse_public(names)
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    authority, authority_key = _authority(folder, now)
    chain, key = folder / "server.pem", folder / "server.key"
    if not _still_good(chain, key, authority, names, now):
        leaf_key = ec.generate_private_key(ec.SECP256R1())
        leaf = _leaf(authority, authority_key, leaf_key, names, now)
        _write_key(key, leaf_key)
        chain.write_bytes(_pem(leaf) + _pem(authority))
    told = authority.fingerprint(hashes.SHA256()).hex(":").upper()
    return Certificates(chain, key, folder / "authority.pem", told)


def _refuse_public(names: tuple[str, ...]) -> None:
    for name in names:
        if not _is_local(name):
            raise ValueError(
                f"name: found {name!r}, expected a private address or a name that ends in "
                f"{', '.join(f'.{end}' for end in LOCAL_NAMES)}; "
                "for any other name use a reverse proxy with a real certificate"
            )


def _is_local(name: str) -> bool:
    address = _address(name)
    if address is None:
        return any(name == end or name.endswith(f".{end}") for end in LOCAL_NAMES)
    ranges = (ipaddress.ip_network(told) for told in PRIVATE)
    return any(address.version == one.version and address in one for one in ranges)


def _address(name: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        return None


def _authority(folder: Path, now: datetime) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    file, key_file = folder / "authority.pem", folder / "authority.key"
    if file.exists() and key_file.exists():
        kept = x509.load_pem_x509_certificate(file.read_bytes())
        key = serialization.load_pem_private_key(key_file.read_bytes(), password=None)
        if isinstance(key, ec.EllipticCurvePrivateKey) and now < kept.not_valid_after_utc:
            return kept, key
    key = ec.generate_private_key(ec.SECP256R1())
    made = _made_authority(key, now)
    _write_key(key_file, key)
    file.write_bytes(_pem(made))
    return made, key


def _made_authority(key: ec.EllipticCurvePrivateKey, now: datetime) -> x509.Certificate:
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Nuttery on this local network")])
    permitted: list[x509.GeneralName] = [x509.DNSName(end) for end in LOCAL_NAMES]
    permitted += [x509.IPAddress(ipaddress.ip_network(told)) for told in PRIVATE]
    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(sign=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _leaf(
    authority: x509.Certificate,
    authority_key: ec.EllipticCurvePrivateKey,
    key: ec.EllipticCurvePrivateKey,
    names: tuple[str, ...],
    now: datetime,
) -> x509.Certificate:
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    return (
        x509.CertificateBuilder()
        .subject_name(x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Nuttery")]))
        .issuer_name(authority.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now - timedelta(hours=1) + LEAF_LASTS)
        .add_extension(x509.SubjectAlternativeName(_told(names)), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(sign=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(issuer, critical=False)
        .sign(authority_key, hashes.SHA256())
    )


def _told(names: tuple[str, ...]) -> list[x509.GeneralName]:
    found: list[x509.GeneralName] = []
    for name in names:
        address = _address(name)
        found.append(x509.DNSName(name) if address is None else x509.IPAddress(address))
    return found


def _usage(*, sign: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not sign,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=sign,
        crl_sign=sign,
        encipher_only=False,
        decipher_only=False,
    )


def _still_good(
    chain: Path, key: Path, authority: x509.Certificate, names: tuple[str, ...], now: datetime
) -> bool:
    if not (chain.exists() and key.exists()):
        return False
    leaf = x509.load_pem_x509_certificates(chain.read_bytes())[0]
    there = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    by_us = leaf.extensions.get_extension_for_class(x509.AuthorityKeyIdentifier).value
    ours = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    by_us_still = by_us.key_identifier == ours.digest
    covered = set(_told(names)) <= set(there)
    return covered and by_us_still and now + RENEW_BEFORE < leaf.not_valid_after_utc


def _pem(certificate: x509.Certificate) -> bytes:
    return certificate.public_bytes(serialization.Encoding.PEM)


def _write_key(file: Path, key: ec.EllipticCurvePrivateKey) -> None:
    """Write a key that only its owner can read, from the first byte on."""
    told = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    file.unlink(missing_ok=True)
    handle = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as out:
        out.write(told)
