"""nuttery serve: the planting in a browser, on this computer or also for phones on the network."""

import threading
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

if TYPE_CHECKING:
    from fastapi import FastAPI

    from nuttery.web.security.authority import Certificates
    from nuttery.web.site import Shared, Site

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True)
class _Way:
    """How the server is reached: where it listens, how others come in, its certificates."""

    listen: str
    shared: "Shared | None" = None
    certificates: "Certificates | None" = None


def serve(
    *,
    planting: Annotated[
        str,
        Parameter(env_var="NUTTERY_PLANTING", help="The planting's file, or a database address."),
    ] = "planting.db",
    on: Annotated[date | None, Parameter(help="Answer as of this day (today).")] = None,
    port: Annotated[int, Parameter(help="Port to listen on.")] = 8790,
    share: Annotated[
        bool, Parameter(negative="", help="Let invited phones and other devices in.")
    ] = False,
    address: Annotated[
        str | None,
        Parameter(help="With --share: this computer's address or local name (found by itself)."),
    ] = None,
    public_name: Annotated[
        str | None,
        Parameter(help="With --share: the name of a reverse proxy that has a real certificate."),
    ] = None,
    plain: Annotated[
        bool,
        Parameter(negative="", help="With --share: plain HTTP; keys can then be overheard."),
    ] = False,
    owner: Annotated[
        str | None, Parameter(help="Who writes the notes made at this computer (you).")
    ] = None,
) -> int:
    """Serve the planting to a browser on this computer; with --share, also to phones."""
    from nuttery.season import WrongQuestion
    from nuttery.web.app import build

    if not share and (address or public_name or plain):
        raise WrongQuestion(
            "--address, --public-name and --plain: found without --share, expected with it"
        )
    way = _shared_way(planting, port, address, public_name, plain) if share else _Way(LOOPBACK)
    app = build(planting, on=on, owner=owner, shared=way.shared)
    _tell(app.state.site, port)
    if way.certificates:
        _welcome_beside(way, port + 1)
    _run(app, way, port)
    return 0


def _shared_way(
    planting: str, port: int, address: str | None, public_name: str | None, plain: bool
) -> _Way:
    """Behind a proxy it listens to this computer alone; else on its own address, over HTTPS."""
    from nuttery.records import utc_now
    from nuttery.season.own_folder import folder_of
    from nuttery.web.security.authority import certificates
    from nuttery.web.sharing import own_address, web_address
    from nuttery.web.site import Shared

    if public_name:
        return _Way(LOOPBACK, Shared((public_name,), f"https://{public_name}", secure=True))
    host = address or own_address()
    if plain:
        return _Way(_listens(host), Shared((host,), web_address(host, port, secure=False)))
    made = certificates(folder_of(planting), (host, "localhost", LOOPBACK), utc_now())
    shared = Shared(
        hosts=(host,),
        address=web_address(host, port, secure=True),
        secure=True,
        welcome=web_address(host, port + 1, secure=False),
        fingerprint=made.fingerprint,
    )
    return _Way(_listens(host), shared, made)


def _listens(host: str) -> str:
    """An address is listened on alone; a local name may be any of this computer's addresses."""
    import ipaddress

    with suppress(ValueError):
        return str(ipaddress.ip_address(host))
    return "0.0.0.0"  # noqa: S104 - asked for with --share and a name


def _tell(site: "Site", port: int) -> None:
    """Say where to go; when shared, also how the owner's own device is let in."""
    from nuttery.web.sharing import pairing_address, qr_for_terminal

    if site.devices is None or site.shared is None:
        print(f"Open http://localhost:{port}/  (stop with Ctrl-C)", flush=True)
        return
    invitation = site.devices.invite(site.owner, "owner", site.clock())
    told = pairing_address(site.shared.address, invitation.token)
    if site.shared.welcome:
        print(f"1. A phone learns to trust this server: {site.shared.welcome}")
        print(f"   fingerprint {site.shared.fingerprint}")
        print(qr_for_terminal(site.shared.welcome))
    print(f"2. Your own device is let in, once, within 15 minutes: {told}")
    print(qr_for_terminal(told))
    print("Others: on your device under Devices, or nuttery devices --invite NAME")
    if not site.shared.secure:
        print("Plain HTTP: keys can be overheard, and pages cannot open without a signal.")
    print("Stop with Ctrl-C.", flush=True)


def _welcome_beside(way: _Way, port: int) -> None:
    """Serve the small page with the certificate beside the planting, over plain HTTP."""
    import uvicorn

    from nuttery.web.welcome import welcome

    if way.certificates is None or way.shared is None:
        return
    app = welcome(way.certificates, way.shared.address)
    config = uvicorn.Config(app, host=way.listen, port=port, log_level="warning")
    threading.Thread(target=uvicorn.Server(config).run, daemon=True).start()


def _run(app: "FastAPI", way: _Way, port: int) -> None:
    import uvicorn

    made = way.certificates
    uvicorn.run(
        app,
        host=way.listen,
        port=port,
        log_level="warning",
        server_header=False,
        proxy_headers=False,
        ssl_certfile=made.chain if made else None,
        ssl_keyfile=made.key if made else None,
    )
