"""The page as one file, and how it is shown on the local network behind a one-time code."""

from __future__ import annotations

import base64
import hashlib
import secrets
import socket
from collections.abc import Callable
from importlib.resources import files
from typing import Any

from markupsafe import Markup

from chillplan.advice.result import Plan
from chillplan.data_files import data_path
from chillplan.errors import InputError
from chillplan.report.markup import embedded_json, environment
from chillplan.report.page import INVENTED, place_words, report_sections
from chillplan.report.reader import Reader
from chillplan.report.record import Source, what_if
from chillplan.seasons.cut import season_label

__all__ = ["page_app", "page_html", "serve_page"]


def page_html(plan: Plan, source: Source, reader: Reader, facts: dict[str, Any], served: bool = False) -> str:
    """The page.

    Parameters
    ----------
    facts : dict
        As `chillplan.web.facts.page_facts` gives them.
    served : bool
        Whether it comes from `chillplan page --serve`, which also answers for the home screen.

    Returns
    -------
    str
        Self-contained HTML.
    """
    page, drawing = _script(data_path("page.js").read_text(encoding="utf-8")), _script(_own("report", "page.js"))
    library = _script(data_path("plotly-basic.min.js").read_text(encoding="utf-8"))
    banners = [INVENTED] if source.invented else []
    if plan.warming:
        banners.append(what_if(plan.warming, reader))
    return (
        environment("chillplan.web")
        .get_template("page.html.jinja")
        .render(
            american=reader.units.us,
            policy=_policy((page, drawing, library), served),
            served=served,
            title=f"{plan.site.name}, season {season_label(plan.season)}",
            place=place_words(plan.site, reader),
            style=Markup(_own("report", "page.css") + _own("web", "app/page.css")),
            banners=banners,
            sections=report_sections(plan, source, reader),
            facts=Markup(embedded_json(facts)),
            page=Markup(page),
            library=Markup(library),
            drawing=Markup(drawing),
        )
    )


def _script(text: str) -> str:
    """A script of ours or of a library so that it cannot end its element early."""
    return text.strip().replace("</script", "<\\/script").replace("<!--", "<\\!--")


def _own(room: str, name: str) -> str:
    return (files(f"chillplan.{room}") / name).read_text(encoding="utf-8")


def _policy(scripts: tuple[str, ...], served: bool) -> str:
    """Only these scripts run, and nothing is asked of any network; a served page may be kept by the browser."""
    hashes = " ".join(
        f"'sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}'" for script in scripts
    )
    more = "; manifest-src 'self'; worker-src 'self'" if served else ""
    images = "data: blob: 'self'" if served else "data: blob:"
    return (
        f"default-src 'none'; script-src {hashes}; style-src 'unsafe-inline'; img-src {images}; base-uri 'none'; "
        f"form-action 'none'{more}"
    )


CODE_DIGITS = 6
MOST_TRIES = 5
"""Wrong codes after which nobody is let in any more; one guess in 200,000 then succeeds."""
LONGEST_FORM = 100
"""More is not read of what is sent with a code. [byte]"""
COOKIE = "chillplan"


class _Lock:
    """Opens once, with a code, for the browser that gave it; shut for good after too many wrong ones."""

    def __init__(self, code: str) -> None:
        self.code = code.encode()
        self.key = ""
        self.wrong = 0

    @property
    def shut(self) -> bool:
        """Whether nobody is let in any more."""
        return bool(self.key) or self.wrong >= MOST_TRIES

    def knows(self, key: str) -> bool:
        """Whether a browser shows the key that it was given."""
        return bool(self.key) and secrets.compare_digest(key.encode(), self.key.encode())

    def try_code(self, given: bytes) -> str:
        """The key of a browser that gives the right code; empty for any other."""
        right = secrets.compare_digest(given.strip(), self.code)
        if self.shut or not right:
            self.wrong += 1
            return ""
        self.key = secrets.token_urlsafe(32)
        return self.key


def _manifest(name: str) -> dict[str, Any]:
    """What a home screen asks for."""
    return {
        "name": f"chillplan {name}",
        "short_name": name[:12],
        "start_url": "page",
        "display": "standalone",
        "background_color": "#fdfcf8",
        "theme_color": "#fdfcf8",
        "icons": [{"src": "icon.svg", "sizes": "any", "type": "image/svg+xml", "purpose": "any maskable"}],
    }


def page_app(html: str, name: str, code: str):  # type: ignore[no-untyped-def]
    """The application: a code is asked for once, and opens the page for the browser that gave it.

    Parameters
    ----------
    name : str
        Of the site, for the home screen.
    code : str
        Works once.
    """
    from starlette.applications import Starlette
    from starlette.requests import Request
    from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
    from starlette.routing import Route

    lock = _Lock(code)
    quiet = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer", "X-Content-Type-Options": "nosniff"}

    def may(request: Request) -> bool:
        return lock.knows(request.cookies.get(COOKIE, ""))

    async def door(request: Request) -> Response:
        if may(request):
            return RedirectResponse("page", status_code=303)
        page = environment("chillplan.web").get_template("door.html.jinja").render(shut=lock.shut)
        return HTMLResponse(page, headers=quiet)

    async def enter(request: Request) -> Response:
        given = b""
        async for part in request.stream():
            given += part
            if len(given) > LONGEST_FORM:
                break
        key = lock.try_code(given.removeprefix(b"code="))
        answer = RedirectResponse("page" if key else ".", status_code=303)
        if key:
            answer.set_cookie(COOKIE, key, httponly=True, samesite="strict")
        return answer

    def shown(path: str, make: Callable[[], Response]) -> Route:
        async def answer(request: Request) -> Response:
            return make() if may(request) else RedirectResponse(".", status_code=303)

        return Route(path, answer)

    worker, icon = _own("web", "app/worker.js"), _own("web", "app/icon.svg")
    return Starlette(
        routes=[
            Route("/", door),
            Route("/enter", enter, methods=["POST"]),
            shown("/page", lambda: HTMLResponse(html, headers=quiet)),
            shown("/page.webmanifest", lambda: JSONResponse(_manifest(name), media_type="application/manifest+json")),
            shown("/worker.js", lambda: Response(worker, media_type="text/javascript", headers=quiet)),
            shown("/icon.svg", lambda: Response(icon, media_type="image/svg+xml", headers=quiet)),
        ]
    )


def serve_page(html: str, name: str, port: int, tell: Callable[[str], None]) -> None:
    """Show the page until Ctrl-C.

    Raises
    ------
    InputError
        If the port cannot be had.
    """
    import uvicorn

    code = "".join(secrets.choice("0123456789") for _ in range(CODE_DIGITS))
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind(("", port))
        listening.listen()  # a phone that is quicker than the server waits instead of being refused
    except OSError as error:
        listening.close()
        raise InputError(f"--port {port} cannot be had ({error.strerror}): give another one") from error
    tell(f"on the phone, in the same network, open http://{_own_address()}:{listening.getsockname()[1]}/ ")
    tell(f"and enter {code}; it lets one browser in, once. To work without the network, save the page there as a file.")
    tell("Stop with Ctrl-C; the page is not shown any longer then.")
    config = uvicorn.Config(page_app(html, name, code), log_level="error", access_log=False, server_header=False)
    uvicorn.Server(config).run(sockets=[listening])


def _own_address() -> str:
    """This computer's address in the local network; nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(
                ("192.0.2.1", 9)
            )  # RFC 5737: an address of documentation; a datagram socket only picks a route
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()
