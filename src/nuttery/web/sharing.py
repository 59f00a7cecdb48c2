"""Letting other devices in: the address they are given, and its QR code."""

import io

import segno


def pairing_address(address: str, token: str) -> str:
    """Address at which an invitation is taken up.

    Examples
    --------
    >>> pairing_address("https://192.168.1.5:8443", "abc")
    'https://192.168.1.5:8443/pair/abc'
    """
    return f"{address.rstrip('/')}/pair/{token}"


def qr(address: str) -> str:
    """QR code of an address, as SVG for a page."""
    out = io.BytesIO()
    segno.make(address, error="m", micro=False).save(
        out, kind="svg", scale=5, xmldecl=False, svgclass="qr", lineclass=None, omitsize=False
    )
    return out.getvalue().decode()


def qr_for_terminal(address: str) -> str:
    """QR code of an address, as lines of text."""
    out = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out, compact=True)
    return out.getvalue()
