"""One case with everything beside it, whose every text is given: plain words, or hostile ones."""

from __future__ import annotations

import io
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from fastapi.testclient import TestClient
from PIL import Image

from leastwise.api.services.claim_questions import QUESTION
from leastwise.api.services.reviewing import frozen_of, review_of
from leastwise.api.services.setting_aside import set_aside
from leastwise.api.store import Conflict, Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.pages.conftest import form_token

__all__ = ["HOSTILE", "PACK", "STEAM", "FullCase", "keep_full_case", "said"]

#: What tries to be a script, an element, a template, or to turn the direction of what follows.
TRICKS = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>{{7*7}}\u202e\u200f\u2067"
HOSTILE = f"{TRICKS} {'W' * 200}"
STEAM = "crushed-tiers/steam"
PACK = "crushed-tiers/membrane-pack-suspended"
DAY = "2026-11-24"
#: Keys of the record whose text a person types, with the characters that they may hold.
TYPED = {
    "title": 200, "name": 200, "identifier": 200, "keeper": 200, "made": 200, "purpose": 400,
    "past_treatment": 4000, "recorder": 200, "note": 4000, "by": 200, "statement": 4000,
}  # fmt: skip
#: Own words: sections and lines of the proposal.
WORDS = (
    "people", "purpose", "identification", "methods", "observation", "interpretation", "condition",
    "past_treatment", "significance", "aims", "options", "tests", "method", "time", "cost",
    "benefits", "risks", "compensation", "display", "future_care", "competence", "deviations",
    "approvals",
)  # fmt: skip
LINES = ("owner", "maker", "size", "marks", "accessories", "approver", "responsible")


@dataclass(frozen=True)
class FullCase:
    """Where the pages of the case are."""

    id: str
    sketch: str
    picture: str
    aside: str
    question: str


def said(text: str, most: int) -> str:
    """Return *text* as far as a field holds it."""
    return text[:most].strip()


def _filled(value: Any, text: str) -> Any:
    """Return a part of a record with *text* in every field that a person types freely."""
    if isinstance(value, list):
        return [_filled(one, text) for one in value]
    if not isinstance(value, dict):
        return value
    return {
        key: said(text, TYPED[key])
        if key in TYPED and isinstance(inner, str) and not _is_choice(key, value)
        else _filled(inner, text)
        for key, inner in value.items()
    }


def _is_choice(key: str, record: dict[str, Any]) -> bool:
    return key == "purpose" and "mounting" in record  # of the aim, chosen from a list


def _record(adviser: Adviser, text: str) -> dict[str, Any]:
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    lining = body["parts"][0]["id"]
    body["tests"] = [
        {"test": "test:colourfastness-water", "part": lining, "result": "good", "date": DAY,
         "by": "", "note": ""}
    ]  # fmt: skip
    if not text:
        return body
    filled: dict[str, Any] = _filled(deepcopy(body), text)
    filled["significance"]["keep"] = [said(text, 200), said(text[::-1], 200)]
    filled["means"]["equipment"] = ["membrane", said(text, 200)]
    return filled


class Sender:
    """Sends the forms of a browser without scripts, and looks that they were taken."""

    def __init__(self, client: TestClient) -> None:
        self.client, self.token = client, form_token(client)

    def __call__(self, path: str, files: Any = None, **fields: str) -> str:
        answer = self.client.post(
            path, data={"form_token": self.token, **fields}, files=files, follow_redirects=False
        )
        assert answer.status_code == 303, (path, answer.status_code, answer.text[-3000:])
        return str(answer.headers["location"])


def keep_full_case(
    client: TestClient, store: Store, adviser: Adviser, text: str, *, in_record: bool = True
) -> FullCase:
    """Keep the dancer with photographs, a sketch, own words, a review and a log, all of *text*.

    With *in_record* the record's own texts are replaced as well.
    """
    record = _record(adviser, text if in_record else "")
    made = store.create("case", record, who="me", what="begun", title=record["title"])
    send, where = Sender(client), f"/cases/{made.id}"
    parts = [part["id"] for part in record["parts"]]
    image = io.BytesIO()
    Image.new("RGB", (900, 600), "tan").save(image, "JPEG")
    send(
        f"{where}/photographs",
        files=[("photographs", ("a.jpg", image.getvalue(), "image/jpeg"))],
        caption=said(text, 150),
        stage="before",
    )
    picture = store.pictures(made.id)[0].id
    sketch = send(f"{where}/sketch", ground="silhouette:dress-front", name="").split("/")[-1]
    send(
        f"{where}/sketch/{sketch}",
        version="1",
        name=said(text, 80),
        **{"part.0": parts[0], "points.0": "20,20 60,20 60,50", "part.1": parts[1],
           "points.1": "30,55 70,55 70,90 30,90"},
    )  # fmt: skip
    words = dict.fromkeys(WORDS, f"{text}\n\n- {text}") | {key: said(text, 300) for key in LINES}
    words[f"reason:{PACK.partition('/')[0]}"] = text
    send(f"{where}/proposal", version="0", **words)
    _reviewed(send, store, where, made.id, text)
    _logged(send, where, parts[0], text)
    question = _question(store, text)
    return FullCase(made.id, sketch, picture, _set_aside(store, made, text), question)


def _question(store: Store, text: str) -> str:
    """Keep a question on a claim, with a change as Turtle, and return its name."""
    body = {
        "claim": "claim:M-128",
        "what": "change",
        "text": said(text, 4000),
        "source": said(text, 1000),
        "turtle": said(text, 4000),
        "state": "open",
        "comparison": {"knowledge": "", "lines": [said(text, 200)], "changes": True},
    }
    return store.create(QUESTION, body, who="me", what="a proposed change", title="a change").id


def _set_aside(store: Store, base: Document, text: str) -> str:
    """Let two people change the same entry, and set one of the versions aside."""
    theirs, mine = deepcopy(base.body), deepcopy(base.body)
    theirs["object"]["keeper"] = said(f"theirs {text}", 200)
    mine["object"]["keeper"] = said(f"mine {text}", 200)
    now = store.save(base.id, base.version, theirs, who="b", what="keeper changed")
    return set_aside(store, Conflict(base, now, mine), "Object and record", "me")


def _reviewed(send: Sender, store: Store, where: str, case: str, text: str) -> None:
    send(f"{where}/review", note=text)
    one = f"{where}/review/1"
    send(f"{one}/remarks", anchor="sentence:purpose/1", text=text)
    send(f"{one}/remarks", anchor=f"option:{PACK}", text=text)
    remark = review_of(store, frozen_of(store, case)[0]).of("remark")[0]
    send(f"{one}/answers", entry=remark.id, text=text)
    send(f"{one}/arguments", option=STEAM, attacks="option", text=text)
    part = store.read(case).body["parts"][0]["id"]
    send(f"{one}/tests", test="test:colourfastness-water", part=part, text=text)
    send(f"{one}/ratings", **{f"verdict:{PACK}": "accepted"})
    send(f"{one}/decision", decision="agreed-with-changes", text=text)


def _logged(send: Sender, where: str, part: str, text: str) -> None:
    short, day = said(text, 200), {"date": DAY}
    send(
        f"{where}/log/steps", what=short, state="partly", by=short, hours="1.5", planned="",
        deviation=text, approved_by=short, note=text, **day,
    )  # fmt: skip
    for value, time in (("45", "10:00"), ("55", "11:00"), ("61", "12:30")):
        send(
            f"{where}/log/readings", quantity="rh", value=value, unit="%", time=time, part=part,
            by=short, note=text, **day,
        )  # fmt: skip
    send(
        f"{where}/log/materials", what=short, manner="added", batch=short, maker=short,
        amount=short, part=part, note=text, **day,
    )  # fmt: skip
    send(
        f"{where}/log/outcomes", part=part, damage=PACK.partition("/")[0],
        technique="technique:membrane-pack-suspended", result="partly", by=short, note=text, **day,
    )  # fmt: skip
    send(f"{where}/log/follow_ups", due=DAY, what=short)
    send(
        f"{where}/log/final", state_after=text, changes=text, new_information=text,
        compensation=text, future_care=text, recorder=short, before="{}", **day,
    )  # fmt: skip
