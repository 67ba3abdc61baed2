"""A session that is deleted for good under a kill: after the next start all of it is there, or nothing of it."""

from __future__ import annotations

import hashlib
import random
import threading
import time
from collections import Counter
from contextlib import closing, suppress
from http.client import HTTPException
from pathlib import Path

from tests.faults.kills import FEWER_KILLS
from tests.faults.saves import jpeg_of
from tests.faults.served import PARTS, ask, connection, form, parts, served

_LONGEST_S = 0.3
_PICTURES = 2


class Secret:
    """A session with a frame for each of its pictures; all of it holds one word, or is named by one of the pictures."""

    def __init__(self, url: str, word: str) -> None:
        self.word, pictures = word, [jpeg_of(f"{word} {number}") for number in range(_PICTURES)]
        self._digests = [hashlib.sha256(each).hexdigest() for each in pictures]
        with closing(connection(url)) as http:
            self.address = ask(http, "/sessions", form(name=word, notes=f"notes of {word}"))[1]["location"]
            shot = ask(http, f"{self.address}/shots", form(title=word))[1]["location"]
            for each in pictures:
                ask(http, f"{shot}/frames", parts("picture", "a.jpg", each, {"because": word}), PARTS)

    def delete(self, url: str) -> None:
        with suppress(OSError, HTTPException), closing(connection(url)) as http:
            ask(http, f"{self.address}/delete-for-good", form(name=self.word))

    def left_in(self, data: Path) -> Counter[str]:
        """How many files have the word in them, and how many are named by a picture."""
        files = [path for path in data.rglob("*") if path.is_file()]
        named = [path for path in files if any(digest[2:] in str(path) for digest in self._digests)]
        return Counter(
            named=len(named),
            originals=sum("pictures" in path.parts for path in named),
            told=sum(self.word.encode() in path.read_bytes() for path in files),
        )


def test_a_deletion_under_a_kill_is_whole_after_the_next_start(tmp_path: Path) -> None:
    chance, data, at = random.Random(5), tmp_path / "data", {"before": 0, "after": 0}
    data.mkdir()
    secret = None
    for number in range(FEWER_KILLS + 1):
        with served(data) as server:
            if secret is not None:
                with closing(connection(server.url)) as http:
                    http.request("GET", secret.address)
                    is_there = http.getresponse().status == 200
                left = secret.left_in(data)
                at["before" if is_there else "after"] += 1
                assert left["originals"] == _PICTURES if is_there else left.total() == 0, left
            if number == FEWER_KILLS:
                break
            secret = Secret(server.url, f"secret{number:06d}")
            time.sleep(chance.choice([0.0, 0.5]))
            deleting = threading.Thread(target=secret.delete, args=(server.url,))
            deleting.start()
            while deleting.is_alive() and not (data / "to-be-deleted.json").exists():
                time.sleep(0.0005)
            time.sleep(chance.uniform(0.0, _LONGEST_S))
            server.process.kill()
            deleting.join()
    print(f"kills in deletion {FEWER_KILLS}: {at['before']} before it was done, {at['after']} after")
