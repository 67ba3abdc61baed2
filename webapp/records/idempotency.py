"""A save that was answered: the same key with the same body gets the same answer again, with another body it is refused."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from sqlmodel import Session as Database

from webapp.errors import KeyReused
from webapp.records import shots as shot_records
from webapp.records.tables import SaveKey


def body_digest(*said: Any) -> str:
    """A save's body in one line: what JSON can say of it."""
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def answer_before(db: Database, save_key: str | None, body: str) -> str | None:
    """What this key was answered with; None where it is new, or there is none. Raises KeyReused for another body."""
    if not save_key:
        return None
    answered = shot_records.saved_answer(db, save_key)
    if answered is None:
        return None
    if answered.body != body:
        raise KeyReused("This save key was used for something else; reload the page and save again.")
    return answered.answer


def keep_answer(db: Database, save_key: str | None, body: str, answer: str) -> None:
    """Remember what a key was answered with."""
    if save_key:
        db.add(SaveKey(key=save_key, body=body, answer=answer))
