"""The walk on a phone: a page that works without signal, and the door through which its walks come in."""

from __future__ import annotations

import json
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Path, Request
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, ConfigDict, Field

from outpace.errors import OutpaceError
from outpace.language import say, spoken_language
from outpace.surfaces.web.api import RESPONSES
from outpace.surfaces.web.pages import AnswersOf, AskedBy, page_of
from outpace.surfaces.web.rendering import STATIC, all_static, static_version
from outpace.surfaces.web.walk_words import words

router = APIRouter()

Json = dict[str, Any]
Cell = str | int | float | None
KEPT_FILES = (
    "walk/",
    "lens",
    "vendor/idb",
    "vendor/client-zip",
    "paper.css",
    "walk.css",
    "look.js",
    "mark.svg",
)
KEPT_PAGES = ("/count", "/species-key")


class SentWalks(BaseModel):
    """Walks as a phone sends them: rows of the exchange format by table."""

    model_config = ConfigDict(extra="forbid")

    tables: dict[Literal["walks", "counts", "mummies", "seen", "walk_lines"], list[dict[str, Cell]]]
    by: Annotated[str, Field(min_length=1, max_length=100)]
    device: Annotated[str, Field(pattern=r"^[a-z0-9-]{4,60}$")]
    correct: bool = False


@router.get("/count", include_in_schema=False)
async def count_page(asked: AskedBy) -> Response:
    """Show the page a house is walked with; what it needs to know it fetches, and keeps."""
    return page_of("count.html", asked, "walk", words=words())


@router.get("/sw.js", include_in_schema=False)
async def worker() -> Response:
    """Send the script that keeps the walk's page for the times without signal."""
    kept = {
        "version": f"{static_version()}-{spoken_language()}",
        "pages": KEPT_PAGES,
        "files": [*KEPT_PAGES, *all_static(KEPT_FILES)],
    }
    code = f"const KEPT = {json.dumps(kept)};\n" + (STATIC / "walk" / "worker.js").read_text(encoding="utf-8")
    return Response(code, media_type="text/javascript", headers={"cache-control": "no-cache"})


@router.get("/api/walk-kit", responses=RESPONSES)
async def walk_kit(asked: AskedBy, answers: AnswersOf) -> Json:
    """Return what a phone needs to walk a farm without signal."""
    return dict(await answers.walk_kit(asked))


@router.get("/api/stop-lines", responses=RESPONSES)
async def stop_lines(asked: AskedBy, answers: AnswersOf) -> Json:
    """Return for each house the lines at which a walk may stop."""
    return dict(await answers.stop_lines(asked))


@router.post("/api/walks", responses=RESPONSES)
async def walks(sent: SentWalks, answers: AnswersOf) -> Response:
    """Take walks in; the same walk again changes nothing, a known one with other content is a conflict (409)."""
    tables = {str(name): rows for name, rows in sent.tables.items()}
    answer = await answers.take_walks(tables, by=sent.by, device=sent.device, correct=sent.correct)
    return JSONResponse(answer, status_code=409 if answer["conflicts"] else 200)


@router.put("/api/photos/{name}", responses=RESPONSES)
async def keep_photo(
    name: Annotated[str, Path(pattern=r"^[0-9a-f]{16,40}$")], request: Request, answers: AnswersOf
) -> Json:
    """Keep a photo of a walk."""
    from outpace.season.photos import LARGEST_BYTES

    content = bytearray()
    async for part in request.stream():
        content += part
        if len(content) > LARGEST_BYTES:
            raise OutpaceError(
                say("the photo is too large"),
                where=say("photo {name}", name=name),
                allowed=say("at most {largest_bytes:.0f} MB", largest_bytes=LARGEST_BYTES / 1e6),
            )
    await answers.keep_photo(name, bytes(content))
    return {"kept": name}


@router.get("/api/photos/{name}", responses=RESPONSES)
async def photo(name: Annotated[str, Path(pattern=r"^[0-9a-f]{16,40}$")], answers: AnswersOf) -> Response:
    """Return a photo of a walk."""
    found = await answers.photo(name)
    if found is None:
        return JSONResponse(
            {
                "error": {
                    "what": say("no photo called {name}", name=name),
                    "where": "",
                    "allowed": "",
                    "hint": "",
                }
            },
            404,
        )
    content, ending = found
    kind = "image/jpeg" if ending == "jpg" else f"image/{ending}"
    return Response(content, media_type=kind)
