"""Sharing in the shop: addresses on the local network, a QR code, a certificate of one's own."""

from __future__ import annotations

import contextlib
import io
import ipaddress
import socket
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from pourwright.web.settings import Settings

CERTIFICATE_DAYS = 390
PLAIN = (
    "Over plain http everything travels readable: whoever is on the same network can read the pass "
    "phrase and the jobs, and change them on the way. Use it only on a network of your own.",
    "Browsers keep some things back from plain http: the screen cannot be kept awake, so a timer's "
    "alarm may come late on a sleeping tablet; notifications and offline pages are off too.",
    "Set the tablet's screen to stay on, keep a kitchen timer beside the cups, or start the app "
    "with --https.",
)
SECURE = (
    "The certificate was made on this machine and nobody else vouches for it: the tablet asks once "
    "whether to go on. Compare the fingerprint it shows with the one printed at the start.",
)


def local_names() -> set[str]:
    """Names and addresses of this machine itself [-]."""
    return {"127.0.0.1", "localhost", "::1"}


def lan_addresses() -> list[str]:
    """Addresses of this machine on its networks [-], the one used for going out first.

    No packet is sent: connecting a datagram socket only asks the routing table.
    """
    found: list[str] = []
    for family, far in ((socket.AF_INET, "192.0.2.1"), (socket.AF_INET6, "2001:db8::1")):
        with contextlib.suppress(OSError), socket.socket(family, socket.SOCK_DGRAM) as s:
            s.connect((far, 9))
            found.append(str(s.getsockname()[0]))
    with contextlib.suppress(OSError):
        found += [str(a[4][0]) for a in socket.getaddrinfo(socket.gethostname(), None)]
    keep = []
    for text in dict.fromkeys(found):
        with contextlib.suppress(ValueError):
            address = ipaddress.ip_address(text.partition("%")[0])
            if not (address.is_loopback or address.is_link_local or address.is_unspecified):
                keep.append(str(address))
    return keep


def host_names(settings: Settings) -> set[str]:
    """Every name that the app answers to under `settings` [-]."""
    names = local_names() | {n.lower() for n in settings.names}
    if settings.lan:
        names |= set(lan_addresses())
        own = socket.gethostname().lower().rstrip(".")
        names |= {own, f"{own.partition('.')[0]}.local"}
    return names


def addresses(settings: Settings, port: int | None = None) -> list[str]:
    """Addresses [-] by which other devices open the app under `settings` at `port`."""
    if not settings.lan:
        return []
    scheme = "https" if settings.https else "http"
    at = port or settings.port
    listed = [*settings.names, *lan_addresses()]
    return [f"{scheme}://{f'[{n}]' if ':' in n else n}:{at}/" for n in dict.fromkeys(listed)]


def share_words(settings: Settings, port: int | None = None) -> dict[str, Any]:
    """What a sharing page says under `settings` at `port` [-]: addresses and their limits."""
    print_ = ""
    if settings.https:
        with contextlib.suppress(OSError, ValueError):
            print_ = fingerprint(settings.data / "certificate.pem")
    return {
        "lan": settings.lan,
        "https": settings.https,
        "addresses": addresses(settings, port),
        "mind": list(SECURE if settings.https else PLAIN) if settings.lan else [],
        "fingerprint": print_,
    }


def qr_svg(text: str) -> bytes:
    """A QR code (ISO/IEC 18004, error correction M) of `text` [-] as SVG."""
    import segno

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(
        out, kind="svg", scale=8, border=4, dark="#26221d", light="#ffffff", xmldecl=False,
        title=text,
    )  # fmt: skip
    return out.getvalue()


def qr_text(text: str) -> str:
    """A QR code of `text` [-] for a terminal."""
    import segno

    out = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out, compact=True)
    return out.getvalue()


def certificate(data: Path, names: set[str]) -> tuple[Path, Path]:
    """Certificate and key files in folder `data` [-] for `names`, made or renewed when needed."""
    from cryptography import x509

    pem, key = data / "certificate.pem", data / "certificate-key.pem"
    if pem.exists() and key.exists():
        with contextlib.suppress(ValueError, x509.ExtensionNotFound):
            kept = x509.load_pem_x509_certificate(pem.read_bytes())
            san = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
            has = set(san.get_values_for_type(x509.DNSName))
            has |= {str(a) for a in san.get_values_for_type(x509.IPAddress)}
            late = kept.not_valid_after_utc - datetime.now(UTC) > timedelta(days=7)
            if late and names <= has:
                return pem, key
    _make(pem, key, names)
    return pem, key


def _make(pem: Path, key: Path, names: set[str]) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    from pourwright.store.files import write_whole

    private = ec.generate_private_key(ec.SECP256R1())
    title = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Pourwright in this shop")])
    listed: list[x509.GeneralName] = []
    for name in sorted(names):
        try:
            listed.append(x509.IPAddress(ipaddress.ip_address(name)))
        except ValueError:
            listed.append(x509.DNSName(name))
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder()
        .subject_name(title)
        .issuer_name(title)
        .public_key(private.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(minutes=5))
        .not_valid_after(now + timedelta(days=CERTIFICATE_DAYS))
        .add_extension(x509.SubjectAlternativeName(listed), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(private, hashes.SHA256())
    )
    write_whole(
        key,
        private.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ),
    )
    key.chmod(0o600)
    write_whole(pem, made.public_bytes(serialization.Encoding.PEM))


def fingerprint(pem: Path) -> str:
    """SHA-256 fingerprint [-] of the certificate in `pem`, as browsers show it."""
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes

    raw = x509.load_pem_x509_certificate(pem.read_bytes()).fingerprint(hashes.SHA256())
    return ":".join(f"{b:02X}" for b in raw)
