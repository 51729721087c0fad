"""Driving a list of jobs through its pages."""

from __future__ import annotations

import re

import httpx

from domain.shop.jobs import Job
from domain.starting.alloys import starting_alloys
from domain.starting.mould import starting_materials
from webapp.store import nouns
from webapp.store.engine import Database

LIST = """Job,Item,Metal,Qty,Wax wt,Size,Due,Notes,Colour
1,ring,14k y,2,71 gr,22 x 18 x 12 mm,2026-03-20,,gold
2,<b>knob</b>,steel,1,3 g,22 x 18 x 6 mm,2026-03-20,,
3,=1+1,925,a few,3 g,22 x 18 x 6 mm,2026-03-20,"see sketch
both sides",
"""


def with_alloys(db: Database) -> Database:
    """A shop with alloys and pattern materials."""
    with db.write() as session:
        for thing in (*starting_alloys(), *starting_materials()):
            nouns.put(session, thing)
    return db


def jobs(db: Database) -> dict[str, Job]:
    with db.read() as session:
        return {job.id: job for job in nouns.all_of(session, Job)}


async def begin(client: httpx.AsyncClient, text: str = LIST) -> str:
    answer = await client.post("/intake", data={"text": text})
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


async def version(client: httpx.AsyncClient, address: str) -> str:
    found = re.search(r'name="version" value="(\d+)"', (await client.get(address)).text)
    assert found is not None
    return found.group(1)


async def post(client: httpx.AsyncClient, address: str, action: str, **typed: str) -> httpx.Response:
    return await client.post(f"{address}/{action}", data={"version": await version(client, address), **typed})


ANSWERS = {
    "answer:gr": "gr",
    "answer:material:usual": "injection-wax",
    "answer:section:usual": "medium",
    "answer:heavier-than-box": "keep",
}
