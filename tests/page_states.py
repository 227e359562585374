"""Every page and state of it that is served, by a name and its address."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tests.conftest import SAMPLES

HOST = {"Host": "localhost"}
GOODS = {
    "wristband": "172", "belt": "900", "bag-handle": "420", "carrier-handle": "460", "key-fob": "90", "dog-lead": "1200",
    "hat-band": "570", "plain-strap": "300", "keeper-loop": "90",
}  # fmt: skip
STATES = {
    "a piece": "/",
    **{f"a {name}": f"/?pattern={name}&measure={mm}" for name, mm in GOODS.items()},
    "a piece with every field": "/?pattern=belt&measure=34+in&units=in&leather=harbour-tan&holes=7&load=15+kg&machine=laser&label=%3Cb%3E%26%22&hand=left&broken=true&paper=letter",
    "a piece with two wrong fields": "/?measure=6+3/4+mm&strands=4",
    "a piece that is wrong as a whole": "/?pattern=plain-strap&measure=12&width=40&ends=pointed",
    "goods that there are not": "/?pattern=nothing&measure=172",
    "thirteen strands": "/?pattern=plain-strap&measure=1000&strands=13&width=80",
    "a job": "/job",
    "leathers": "/leathers",
    "sizes": "/sizes",
    "sizes found": "/sizes?of=5&count=40&women=60",
    "sizes of a list": "/sizes?of=2&list=16+cm%0A17+cm%0A18+cm",
    "sizes that are wrong": "/sizes?of=many",
    "printers": "/printers",
    "prices": "/prices",
    "a braid": "/braid?strands=5&hand=left&step=3",
    "a braid for two": "/braid?strands=3&learners=two",
    "a braid that cannot be worked": "/braid?strands=4",
    "the atlas": "/braid/atlas?strands=5",
    "an empty atlas": "/braid/atlas?strands=4",
    "a refusal": "/file/pdf?measure=abc",
    "nothing there": "/nothing",
}  # fmt: skip


def served(client: Any, names: Any = STATES) -> Iterator[tuple[str, str]]:
    """(name, what is served) of every state, as a browser asks for it."""
    for name in names:
        reply = client.get(STATES[name], headers=HOST | {"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"})
        assert reply.mimetype == "text/html", name
        yield name, reply.get_data(as_text=True)


SHELF = SAMPLES / "leathers.toml"
