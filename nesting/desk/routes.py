"""The addresses that the page asks: a small, versioned JSON API and the page's own files.

Nothing that the page sends becomes a path: plans are asked for by number, result files by their place in
the manifest's list, the page's own files are held in memory under fixed names.
"""

from __future__ import annotations

import json
import logging
from collections.abc import Awaitable, Callable
from functools import partial, wraps
from importlib import resources
from typing import Any

from anyio import to_thread
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route
from starlette.types import ASGIApp

from nesting.desk.all_patterns import for_machines, printed
from nesting.desk.cut_scans import CheckWish, check_dropped
from nesting.desk.findings import Findings
from nesting.desk.guard import Guard, Keys
from nesting.desk.offcuts import Described, Kept, Offcuts, Photo
from nesting.desk.plan_pictures import Pictures
from nesting.desk.plan_readings import Readings
from nesting.desk.requests import read_edit, read_place, read_wanted
from nesting.desk.starting import add_plan, start_demo
from nesting.desk.step_forms import forms_view
from nesting.desk.tapping import TapWish, tap_dropped
from nesting.desk.uploads import received, safe_name
from nesting.desk.wishes import ReadWish
from nesting.desk.work import start_patterns, start_search
from nesting.desk.worker import StoppedError
from nesting.desk.workshop import Workshop
from nesting.job.solid_model import MODEL_FILE
from vectorize.basics.errors import CallError, SheetwoodError, WriteError, disk_refusal
from vectorize.basics.wording import told

API = "/api/1"
_log = logging.getLogger(__name__)
_TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".pdf": "application/pdf",
    ".dxf": "image/vnd.dxf",
    ".zip": "application/zip",
    ".glb": "model/gltf-binary",
    ".txt": "text/plain; charset=utf-8",
}
_STATUS = {2: 400, 3: 422, 5: 422, 6: 409}

Handler = Callable[[Request], Awaitable[Response]]


def application(workshop: Workshop, keys: Keys) -> ASGIApp:
    """Return the whole desk as an ASGI application, guarded."""
    pictures, findings, readings = Pictures(workshop), Findings(workshop), Readings(workshop)
    routes = [
        *_page_routes(),
        *_state_routes(workshop, readings),
        *_offcut_routes(workshop),
        *_check_routes(workshop),
        *_picture_routes(pictures),
        *_reading_routes(readings),
        *_work_routes(workshop, findings, readings),
        *_finding_routes(findings),
    ]
    app = Starlette(routes=routes, exception_handlers={HTTPException: _http_fault, Exception: _broken})
    app.state.workshop = workshop
    return Guard(app, keys)


def _page_routes() -> list[Route]:
    files = {entry.name: entry.read_bytes() for entry in (resources.files("nesting.desk") / "static").iterdir()}
    etags = {name: f'"{hash(data) & 0xFFFFFFFFFFFF:x}"' for name, data in files.items()}

    async def page(request: Request) -> Response:
        name = request.path_params.get("name", "index.html")
        if name not in files:
            raise HTTPException(404, "There is no such page.")
        headers = {"cache-control": "no-cache", "etag": etags[name]}
        if request.headers.get("if-none-match") == etags[name]:
            return Response(status_code=304, headers=headers)
        kind = _TYPES.get(name[name.rfind(".") :], "application/octet-stream")
        return Response(files[name], media_type=kind, headers=headers)

    return [Route("/", page), Route("/static/{name}", page)]


def _state_routes(workshop: Workshop, readings: Readings) -> list[Route]:
    async def state(request: Request) -> Response:
        return JSONResponse(await to_thread.run_sync(workshop.state))

    async def events(request: Request) -> Response:
        greeting = {"revision": await to_thread.run_sync(workshop.revision)}
        return StreamingResponse(workshop.hub.stream(greeting), media_type="text/event-stream")

    async def edit(request: Request) -> Response:
        wanted = read_edit(await _json(request))
        told = await to_thread.run_sync(workshop.edit, wanted)
        return JSONResponse({"revision": workshop.revision(), "told": told or None})

    async def undo(request: Request) -> Response:
        return JSONResponse({"title": await to_thread.run_sync(workshop.undo)})

    async def redo(request: Request) -> Response:
        return JSONResponse({"title": await to_thread.run_sync(workshop.redo)})

    async def plan(request: Request) -> Response:
        upload = await received(request.stream(), workshop.folder)
        name = safe_name(request.query_params.get("name", "plan.png"))
        if await to_thread.run_sync(add_plan, workshop, upload, name):
            await to_thread.run_sync(readings.start, len(workshop.job().spec.plan) - 1)
        return JSONResponse({"revision": workshop.revision()})

    async def forms(request: Request) -> Response:
        return JSONResponse(forms_view())

    async def demo(request: Request) -> Response:
        await to_thread.run_sync(start_demo, workshop)
        return JSONResponse({"revision": workshop.revision()})

    return [
        Route(f"{API}/state", _answering(state)),
        Route(f"{API}/events", events),
        Route(f"{API}/forms", forms),
        Route(f"{API}/edit", _answering(edit), methods=["POST"]),
        Route(f"{API}/undo", _answering(undo), methods=["POST"]),
        Route(f"{API}/redo", _answering(redo), methods=["POST"]),
        Route(f"{API}/plans", _answering(plan), methods=["POST"]),
        Route(f"{API}/demo", _answering(demo), methods=["POST"]),
    ]


def _offcut_routes(workshop: Workshop) -> list[Route]:
    offcuts = Offcuts(workshop)

    async def look(request: Request) -> Response:
        said = read_wanted(Photo, _filled(dict(request.query_params)))
        upload = await received(request.stream(), workshop.folder)
        return JSONResponse(await to_thread.run_sync(offcuts.look, upload, said))

    async def describe(request: Request) -> Response:
        asked = read_wanted(Described, _filled(await _json(request)))
        return JSONResponse(await to_thread.run_sync(offcuts.describe, asked))

    async def keep(request: Request) -> Response:
        said = read_wanted(Kept, _filled(await _json(request)))
        return JSONResponse(await to_thread.run_sync(offcuts.keep, said))

    async def forget(request: Request) -> Response:
        return JSONResponse({"forgotten": offcuts.forget()})

    return [
        Route(f"{API}/offcuts", _answering(look), methods=["POST"]),
        Route(f"{API}/offcuts/describe", _answering(describe), methods=["POST"]),
        Route(f"{API}/offcuts/keep", _answering(keep), methods=["POST"]),
        Route(f"{API}/offcuts/forget", _answering(forget), methods=["POST"]),
    ]


def _check_routes(workshop: Workshop) -> list[Route]:
    async def check(request: Request) -> Response:
        wish = read_wanted(CheckWish, _filled(dict(request.query_params)))
        upload = await received(request.stream(), workshop.folder)
        return JSONResponse(await to_thread.run_sync(check_dropped, workshop, upload, wish))

    async def tap(request: Request) -> Response:
        wish = read_wanted(TapWish, _filled(dict(request.query_params)))
        upload = await received(request.stream(), workshop.folder)
        return JSONResponse(await to_thread.run_sync(tap_dropped, workshop, upload, wish))

    return [
        Route(f"{API}/check", _answering(check), methods=["POST"]),
        Route(f"{API}/tap", _answering(tap), methods=["POST"]),
    ]


def _filled(form: object) -> object:
    """Return a form with each text on one line; fields left empty are as if they were not there."""
    if not isinstance(form, dict):
        return form
    plain = {key: " ".join(value.split()) if isinstance(value, str) else value for key, value in form.items()}
    return {key: value for key, value in plain.items() if value != ""}


def _picture_routes(pictures: Pictures) -> list[Route]:
    async def view(request: Request) -> Response:
        return JSONResponse(await to_thread.run_sync(pictures.view, request.path_params["number"]))

    async def tile(request: Request) -> Response:
        at = request.path_params
        found = pictures.tile(at["number"], at["key"], at["level"], at["column"], at["row"])
        if found is None:
            raise HTTPException(404, "There is no such tile.")
        # The key changes with the file, so a tile never does.
        return Response(found, media_type="image/png", headers={"cache-control": "private, max-age=86400, immutable"})

    async def snap(request: Request) -> Response:
        x, y = _number(request, "x"), _number(request, "y")
        reach = _number(request, "reach") if "reach" in request.query_params else None
        is_edge_meant = request.query_params.get("on") == "edge"
        find = partial(pictures.snapped, request.path_params["number"], x, y, reach, is_edge_meant=is_edge_meant)
        found = await to_thread.run_sync(find)
        # Finer than any click; a drawing may be in inches.
        return JSONResponse({"at": None if found is None else [round(found[0], 4), round(found[1], 4)]})

    async def strokes(request: Request) -> Response:
        return JSONResponse(await to_thread.run_sync(pictures.strokes, request.path_params["number"]))

    async def regions(request: Request) -> Response:
        return JSONResponse(await to_thread.run_sync(pictures.regions, request.path_params["number"]))

    plan = f"{API}/plans/{{number:int}}"
    return [
        Route(f"{plan}/picture", _answering(view)),
        Route(f"{plan}/tiles/{{key:str}}/{{level:int}}/{{column:int}}/{{row:int}}.png", _answering(tile)),
        Route(f"{plan}/snap", _answering(snap)),
        Route(f"{plan}/strokes", _answering(strokes)),
        Route(f"{plan}/regions", _answering(regions)),
    ]


def _reading_routes(readings: Readings) -> list[Route]:
    async def view(request: Request) -> Response:
        return JSONResponse(await to_thread.run_sync(readings.view, request.path_params["number"]))

    async def crop(request: Request) -> Response:
        at = request.path_params
        found = await to_thread.run_sync(readings.crop, at["number"], at["text"])
        if found is None:
            raise HTTPException(404, "There is no such lettering.")
        return Response(found, media_type="image/png", headers={"cache-control": "no-cache"})

    reading = f"{API}/plans/{{number:int}}/reading"
    return [Route(reading, _answering(view)), Route(f"{reading}/{{text:int}}.png", _answering(crop))]


def _finding_routes(findings: Findings) -> list[Route]:
    async def found(request: Request) -> Response:
        return JSONResponse(await to_thread.run_sync(findings.view))

    async def forget(request: Request) -> Response:
        return JSONResponse({"forgotten": findings.forget(request.path_params["kind"])})

    return [
        Route(f"{API}/findings", _answering(found)),
        Route(f"{API}/findings/{{kind:str}}/forget", _answering(forget), methods=["POST"]),
    ]


def _work_routes(workshop: Workshop, findings: Findings, readings: Readings) -> list[Route]:
    async def start(request: Request) -> Response:
        kind = request.path_params["kind"]
        match kind:
            case "compare" | "assign" | "trial" | "flex":
                task = findings.start(kind, await _json(request))
            case "nest":
                content = await _json(request)
                hold = content.get("hold") if isinstance(content, dict) else None
                task = start_search(workshop, None if hold is None else read_place(hold))
            case "patterns":
                task = start_patterns(workshop)
            case "read":
                task = readings.start(read_wanted(ReadWish, await _json(request)).plan)
            case _:
                raise HTTPException(404, "There is no such work.")
        if task is None:
            raise CallError("this is being done already.")
        return JSONResponse(task.as_json(), status_code=202)

    async def stop(request: Request) -> Response:
        return JSONResponse({"stopped": workshop.tasks.stop(request.path_params["kind"])})

    async def result(request: Request) -> Response:
        return await to_thread.run_sync(_result_file, workshop, request.path_params["name"])

    async def card(request: Request) -> Response:
        return _attached(await to_thread.run_sync(workshop.shopping_card), "shopping-card.pdf")

    async def seen_model(request: Request) -> Response:
        # Coarser than the file to keep, so that it is there at once.
        found = await to_thread.run_sync(partial(workshop.solid_model, is_exact=False))
        return Response(await to_thread.run_sync(found.glb), media_type=_TYPES[".glb"])

    async def model_file(request: Request) -> Response:
        found = await to_thread.run_sync(partial(workshop.solid_model, is_exact=True))
        return _attached(await to_thread.run_sync(found.glb), MODEL_FILE)

    async def all_pages(request: Request) -> Response:
        # Shown, and not saved: the browser's own print dialog prints it.
        return Response(await to_thread.run_sync(printed, workshop), media_type=_TYPES[".pdf"])

    async def all_files(request: Request) -> Response:
        return _attached(await to_thread.run_sync(for_machines, workshop), "machine-files.zip")

    return [
        Route(f"{API}/task/{{kind:str}}", _answering(start), methods=["POST"]),
        Route(f"{API}/task/{{kind:str}}/stop", _answering(stop), methods=["POST"]),
        Route(f"{API}/files/{{name:str}}", _answering(result)),
        Route(f"{API}/shopping-card.pdf", _answering(card)),
        Route(f"{API}/model/seen.glb", _answering(seen_model)),
        Route(f"{API}/model.glb", _answering(model_file)),
        Route(f"{API}/all-patterns.pdf", _answering(all_pages)),
        Route(f"{API}/machine-files.zip", _answering(all_files)),
    ]


def _result_file(workshop: Workshop, name: str) -> Response:
    job = workshop.job()
    known = {entry["name"] for entry in workshop.result_files(job)}
    if name not in known:
        raise HTTPException(404, "There is no such file; draw the patterns again.")
    return _attached((job.out / name).read_bytes(), name)


def _attached(data: bytes, name: str) -> Response:
    kind = _TYPES.get(name[name.rfind(".") :], "application/octet-stream")
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{_quoted(name)}"}
    return Response(data, media_type=kind, headers=headers)


def _quoted(name: str) -> str:
    from urllib.parse import quote

    return quote(name, safe="")


def _number(request: Request, name: str) -> float:
    try:
        value = float(request.query_params[name])
    except (KeyError, ValueError) as error:
        raise CallError(f"{name}: expected a number.") from error
    if not abs(value) < 1e7:
        raise CallError(f"{name} is {value}; expected a place on the plan.")
    return value


async def _json(request: Request) -> Any:  # noqa: ANN401 - whatever was sent
    try:
        return json.loads(await request.body())
    except ClientDisconnect as error:
        raise CallError("the request was cut off, or is too large.") from error
    except (ValueError, RecursionError) as error:
        raise CallError("the request is not JSON.") from error


def _answering(handler: Handler) -> Handler:
    """Turn the errors that are a builder's to mend into answers with one clear sentence."""

    @wraps(handler)
    async def answering(request: Request) -> Response:
        try:
            return await handler(request)
        except StoppedError as error:
            return await _refusal(request, 409, "stopped", error)
        except SheetwoodError as error:
            kind = "conflict" if isinstance(error, WriteError) else "input"
            return await _refusal(request, _STATUS.get(error.exit_code, 422), kind, error)
        except OSError as error:
            return await _refusal(request, 409, "conflict", disk_refusal(error))
        except ClientDisconnect:
            return _error(400, "input", "the request was cut off, or is too large.")

    return answering


async def _refusal(request: Request, status: int, kind: str, error: SheetwoodError) -> Response:
    """Return what an error says, in the units of the job."""
    speech = await to_thread.run_sync(request.app.state.workshop.speech)
    return _error(status, kind, speech.said(str(error)))


def _error(status: int, kind: str, text: str) -> Response:
    return JSONResponse({"error": {"kind": kind, "text": told(text)}}, status_code=status)


async def _http_fault(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    return _error(error.status_code, "refused", str(error.detail))


async def _broken(request: Request, error: Exception) -> Response:
    return _error(500, "fault", "This is a fault in Sheetwood; its details are in the terminal.")
