"""The certificates of a server on a job-site network: an authority of one's own, and the server's, signed by it.

The authority is made once and trusted once by each phone. It can vouch for private addresses and this machine's name
alone (name constraints, RFC 5280 4.2.1.10), so that whoever gets its key cannot pass for any other site. The server's
certificate is made anew when an address changes or its time runs out; phones need not hear of that."""

from __future__ import annotations

import ipaddress
import os
import re
import socket
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from racewright.errors import InputError, MissingExtra

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

AUTHORITY_YEARS = 10
#: The longest that phones take of a server's certificate, whoever signed it, is 825 days.
SERVER_DAYS = 397
RENEW_DAYS = 30
#: Clocks of phones are not all right.
_BEFORE = timedelta(days=2)
PRIVATE = (
    *("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
    *("fc00::/7", "fe80::/10", "::1/128"),
)


_USED_FOR_NOTHING_ELSE = (
    *("digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement"),
    *("encipher_only", "decipher_only"),
)


class Certificates(NamedTuple):
    """Files for the server (`chain`, `key`) and for phones (`authority`); when the two certificates end; the SHA-256
    fingerprint of the authority; what the server's certificate speaks for."""

    authority: Path
    chain: Path
    key: Path
    authority_ends: datetime
    server_ends: datetime
    fingerprint: str
    names: tuple[str, ...]


def own_name() -> str:
    """This machine's name on its network, without a domain; 'localhost' where no certificate could bear it."""
    name = socket.gethostname().lower().partition(".")[0]
    return name if re.fullmatch(r"[a-z0-9-]{1,63}", name) else "localhost"


def private(addresses: Sequence[str]) -> tuple[str, ...]:
    """Those of the addresses that the authority may vouch for."""
    nets = [ipaddress.ip_network(net) for net in PRIVATE]
    return tuple(one for one in addresses if any(ipaddress.ip_address(one) in net for net in nets))


def certificates(folder: Path, addresses: Sequence[str], *, now: datetime | None = None) -> Certificates:
    """The certificates in `folder`, made where they are missing, at an end, or not for these addresses.

    Raises MissingExtra without the library, InputError where they cannot be read or written."""
    try:
        from cryptography import x509
    except ImportError:
        lacking = MissingExtra("https for --lan", "https")
        lacking.hint += "; or add --http: then anybody on the network can listen and write"
        raise lacking from None
    at = now or datetime.now(UTC)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        folder.chmod(0o700)
        authority, key = _authority(folder, at)
        names = (own_name(), f"{own_name()}.local", "localhost", *private(addresses), "127.0.0.1", "::1")
        names = tuple(dict.fromkeys(name for name in names if _vouched(authority, name)))
        chain = folder / "server.pem"
        server = x509.load_pem_x509_certificate(chain.read_bytes()) if chain.exists() else None
        if server is None or not _still_good(server, authority, names, at):
            server = _make_server(folder, authority, key, names, at)
    except OSError as err:
        raise InputError(
            f"{folder}: the certificates cannot be read or written ({err.strerror}).", hint="check the folder's rights"
        ) from None
    except ValueError as err:
        raise InputError(
            f"{folder}: a certificate cannot be read ({err}).",
            hint="move the folder away: a new authority is made, and every phone has to be told to trust it",
        ) from None
    from cryptography.hazmat.primitives.hashes import SHA256

    return Certificates(
        authority=folder / "authority.pem",
        chain=chain,
        key=folder / "server-key.pem",
        authority_ends=authority.not_valid_after_utc,
        server_ends=server.not_valid_after_utc,
        fingerprint=authority.fingerprint(SHA256()).hex(":").upper(),
        names=names,
    )


def _authority(folder: Path, now: datetime) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    """The authority and its key; new ones where there are none, or their time is over."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import load_pem_private_key
    from cryptography.x509.oid import NameOID

    path, key_path = folder / "authority.pem", folder / "authority-key.pem"
    if path.exists() and key_path.exists():
        key_path.chmod(0o600)
        kept, key = x509.load_pem_x509_certificate(path.read_bytes()), load_pem_private_key(key_path.read_bytes(), None)
        if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != kept.public_key():
            raise ValueError("the authority's key is not its own")
        if kept.not_valid_after_utc - now > timedelta(days=RENEW_DAYS):
            return kept, key
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Racewright at {own_name()}, {now:%Y-%m-%d}"[:64])])
    permitted: list[x509.GeneralName] = [x509.DNSName(each) for each in (own_name(), "local", "localhost")]
    permitted += [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE]
    usage = x509.KeyUsage(
        key_cert_sign=True,
        crl_sign=True,
        **dict.fromkeys(_USED_FOR_NOTHING_ELSE, False),
    )
    made = _signed(
        _begun(name, name, key, now, timedelta(days=365 * AUTHORITY_YEARS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False),
        key,
    )
    _keep(key_path, _pem_of(key))
    _keep(path, _pem(made), 0o644)
    (folder / "server.pem").unlink(missing_ok=True)
    return made, key


def _make_server(
    folder: Path, authority: x509.Certificate, key: EllipticCurvePrivateKey, names: Sequence[str], now: datetime
) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    own = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0][:64])])
    lasts = min(timedelta(days=SERVER_DAYS), authority.not_valid_after_utc - now)
    made = _signed(
        _begun(subject, authority.subject, own, now, lasts)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_as_name(name) for name in names]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(key.public_key()), critical=False),
        key,
    )
    _keep(folder / "server-key.pem", _pem_of(own))
    _keep(folder / "server.pem", _pem(made) + _pem(authority), 0o644)
    return made


def _begun(
    subject: x509.Name, issuer: x509.Name, key: EllipticCurvePrivateKey, now: datetime, lasts: timedelta
) -> x509.CertificateBuilder:
    from cryptography import x509

    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _BEFORE)
        .not_valid_after(now + lasts)
    )


def _signed(builder: x509.CertificateBuilder, key: EllipticCurvePrivateKey) -> x509.Certificate:
    from cryptography.hazmat.primitives.hashes import SHA256

    return builder.sign(key, SHA256())


def _still_good(server: x509.Certificate, authority: x509.Certificate, names: Sequence[str], now: datetime) -> bool:
    """Whether this certificate is of this authority, for all these names, and lasts for a while."""
    from cryptography import x509

    spoken = server.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    known = server.issuer == authority.subject and server.not_valid_before_utc <= now
    lasts = server.not_valid_after_utc - now > timedelta(days=RENEW_DAYS)
    return known and lasts and {_as_name(name) for name in names} <= set(spoken)


def _vouched(authority: x509.Certificate, name: str) -> bool:
    """Whether the authority, made perhaps when the machine had another name, may vouch for this one."""
    from cryptography import x509

    permitted = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or []
    wanted = _as_name(name)
    if isinstance(wanted, x509.IPAddress):
        return any(isinstance(one, x509.IPAddress) and wanted.value in one.value for one in permitted)
    trees = [one.value for one in permitted if isinstance(one, x509.DNSName)]
    return any(name == tree or name.endswith(f".{tree}") for tree in trees)


def _as_name(name: str) -> x509.DNSName | x509.IPAddress:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _pem(certificate: x509.Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return bytes(certificate.public_bytes(Encoding.PEM))


def _pem_of(key: EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    return bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))


def _keep(path: Path, data: bytes, mode: int = 0o600) -> None:
    """Write it whole, readable from the first byte on by those alone who may."""
    new = path.with_name(f"{path.name}.new")
    new.unlink(missing_ok=True)
    with os.fdopen(os.open(new, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    new.replace(path)
