"""Letting other devices in: addresses of this computer, invitations, and their QR codes."""

import io
import ipaddress
import socket

import segno


def own_address() -> str:
    """Address of this computer on its local network; loopback where it is on none.

    Nothing is sent: the system is only asked which way it would go.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(("192.0.2.1", 9))  # an address kept for documentation (RFC 5737)
        except OSError:
            return "127.0.0.1"
        found: str = asked.getsockname()[0]
        return found


def web_address(host: str, port: int, *, secure: bool) -> str:
    """Address of a server as a browser takes it.

    Examples
    --------
    >>> web_address("192.168.1.5", 8790, secure=True), web_address("fe80::1", 8790, secure=False)
    ('https://192.168.1.5:8790', 'http://[fe80::1]:8790')
    """
    try:
        told = f"[{host}]" if ipaddress.ip_address(host).version == 6 else host
    except ValueError:
        told = host
    return f"{'https' if secure else 'http'}://{told}:{port}"


def pairing_address(address: str, token: str) -> str:
    """Address at which an invitation is taken up.

    Examples
    --------
    >>> pairing_address("https://192.168.1.5:8790", "abc")
    'https://192.168.1.5:8790/pair/abc'
    """
    return f"{address.rstrip('/')}/pair/{token}"


def qr(held: str, *, title: str = "QR code") -> str:
    """QR code of an address or another text, as SVG for a page."""
    out = io.BytesIO()
    segno.make(held, error="m", micro=False).save(
        out,
        kind="svg",
        scale=5,
        xmldecl=False,
        svgclass="qr",
        lineclass=None,
        title=title,
        omitsize=True,
    )
    return out.getvalue().decode()


def qr_for_terminal(address: str) -> str:
    """QR code of an address, as lines of text."""
    out = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out, compact=True)
    return out.getvalue()
