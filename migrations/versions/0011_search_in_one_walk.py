"""search in one walk, the kit that a recipe needs, and the identity of a recipe

Why: filters were looked up recipe by recipe; as marks in the full text they are walked together with the words. The
kit that a recipe needs stands in figures of its line, so that "can be rebuilt with the kit that is here" is a
comparison, whatever becomes of the kit. The words are kept in a list that grows, so that a mistyped word does not have
the whole index read. A recipe keeps its identity in a bundle, so that the same bundle is taken in once.

Stored data: the facets become marks of their lines, with aperture, magnification, year and completeness beside them;
the needs are read from the newest version of each recipe; a recipe is its own identity.
"""

import json
import math

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_WORDS = ("title", "subject", "terms", "kit", "words")
_TRIGGERS = ("recipe_words_in", "recipe_words_out", "recipe_words_anew")
_COUNTS = ("flash_count", "ring_count", "continuous_count")
_SIZES = ("face_sizes", "strip_sizes")
_ADDED = ("aperture", "magnification", "year", "measured")
_FIGURES = (
    "key",
    "f_number",
    "magnification",
    "energy_j",
    "nearest_mm",
    "stack_frames",
    "light_count",
    "measured",
    "made_on",
    *_COUNTS,
    *_SIZES,
    "field_mm",
)


def upgrade() -> None:
    _drop_the_full_text()
    op.add_column("recipe_lines", sa.Column("marks", _TEXT(), nullable=False, server_default=""))
    for name in _COUNTS:
        op.add_column("recipe_lines", sa.Column(name, sa.Integer(), nullable=False, server_default="0"))
    for name in _SIZES:
        op.add_column("recipe_lines", sa.Column(name, sa.BigInteger(), nullable=True))
    op.add_column("recipe_lines", sa.Column("field_mm", sa.Float(), nullable=True))
    op.add_column("recipes", sa.Column("identity", _TEXT(), nullable=False, server_default=""))
    op.execute("UPDATE recipes SET identity = id")
    op.create_index("ix_recipes_identity", "recipes", ["identity"])
    _write_the_lines(op.get_bind())
    op.create_index("recipe_figures", "recipe_lines", list(_FIGURES))
    op.drop_index("recipes_by_facet", "recipe_facets")
    op.drop_table("recipe_facets")
    _index_the_words((*_WORDS, "marks"))
    op.create_table(
        "known_words",
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("word", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("number"),
        sa.UniqueConstraint("word"),
    )
    op.execute("INSERT INTO known_words(word) SELECT term FROM recipe_vocabulary WHERE unicode(term) != 0xE000")


def downgrade() -> None:
    _drop_the_full_text()
    op.create_table(
        "recipe_facets",
        sa.Column("key", sa.Integer(), sa.ForeignKey("recipe_lines.key"), nullable=False),
        sa.Column("facet", _TEXT(), nullable=False),
        sa.Column("value", _TEXT(), nullable=False),
        sa.PrimaryKeyConstraint("key", "facet", "value"),
    )
    op.create_index("recipes_by_facet", "recipe_facets", ["facet", "value", "key"])
    _write_the_facets(op.get_bind())
    op.drop_index("recipe_figures", "recipe_lines")
    op.drop_index("ix_recipes_identity", "recipes")
    op.drop_column("recipes", "identity")
    for name in ("field_mm", *_SIZES, *_COUNTS, "marks"):
        op.drop_column("recipe_lines", name)
    op.drop_table("known_words")
    _index_the_words(_WORDS)


def _drop_the_full_text() -> None:
    for trigger in _TRIGGERS:
        op.execute(f"DROP TRIGGER {trigger}")
    op.execute("DROP TABLE recipe_vocabulary")
    op.execute("DROP TABLE recipe_words")


def _index_the_words(names) -> None:
    named, new, old = (", ".join(f"{before}{name}" for name in names) for before in ("", "new.", "old."))
    op.execute(
        f"CREATE VIRTUAL TABLE recipe_words USING fts5({named}, content='recipe_lines', content_rowid='key', "
        "tokenize='unicode61 remove_diacritics 2')"
    )
    op.execute("CREATE VIRTUAL TABLE recipe_vocabulary USING fts5vocab('recipe_words', 'row')")
    put_in = f"INSERT INTO recipe_words(rowid, {named}) VALUES (new.key, {new});"
    take_out = f"INSERT INTO recipe_words(recipe_words, rowid, {named}) VALUES ('delete', old.key, {old});"
    op.execute(f"CREATE TRIGGER recipe_words_in AFTER INSERT ON recipe_lines BEGIN {put_in} END")
    op.execute(f"CREATE TRIGGER recipe_words_out AFTER DELETE ON recipe_lines BEGIN {take_out} END")
    op.execute(f"CREATE TRIGGER recipe_words_anew AFTER UPDATE ON recipe_lines BEGIN {take_out} {put_in} END")
    op.execute("INSERT INTO recipe_words(recipe_words) VALUES ('rebuild')")


def _write_the_lines(connection) -> None:
    lines = connection.exec_driver_sql(
        "SELECT key, recipe_id, f_number, magnification, made_on, measured FROM recipe_lines ORDER BY key"
    ).all()
    for key, recipe_id, f_number, magnification, made_on, measured in lines:
        facets = connection.exec_driver_sql(
            "SELECT facet, value FROM recipe_facets WHERE key = ? ORDER BY rowid", (key,)
        ).all()
        facets = [*facets, *_added_facets(f_number, magnification, made_on, measured)]
        document = connection.exec_driver_sql(
            "SELECT document FROM recipe_versions WHERE recipe_id = ? ORDER BY number DESC LIMIT 1", (recipe_id,)
        ).scalar()
        connection.exec_driver_sql(
            "UPDATE recipe_lines SET marks = ?, flash_count = ?, ring_count = ?, continuous_count = ?, "
            "face_sizes = ?, strip_sizes = ?, field_mm = ? WHERE key = ?",
            (" ".join(_mark(*each) for each in facets), *_needs(json.loads(document or "{}")), key),
        )


def _write_the_facets(connection) -> None:
    for key, marks in connection.exec_driver_sql("SELECT key, marks FROM recipe_lines ORDER BY key").all():
        for mark in marks.split():
            facet, value = _read_mark(mark)
            if facet not in _ADDED:
                connection.exec_driver_sql("INSERT INTO recipe_facets VALUES (?, ?, ?)", (key, facet, value))


def _mark(facet, value) -> str:
    """One word of the full text that nobody can type: small letters and digits stand for themselves, every other byte
    as a character for private use."""
    plain = frozenset("abcdefghijklmnopqrstuvwxyz0123456789")
    spelled = (
        each if each in plain else "".join(chr(0xE100 + byte) for byte in each.encode())
        for each in f"{facet}\n{value}"
    )
    return "\ue000" + "".join(spelled)


def _read_mark(mark):
    spelled = b"".join(bytes([ord(each) - 0xE100]) if ord(each) >= 0xE100 else each.encode() for each in mark[1:])
    facet, _, value = spelled.decode().partition("\n")
    return facet, value


def _added_facets(f_number, magnification, made_on, measured):
    if f_number:
        yield "aperture", f"about f/{_full_stop(f_number)}"
    if magnification:
        ladder = ((0.1, "under 1:10"), (0.25, "1:10 to 1:4"), (0.5, "1:4 to 1:2"), (0.98, "1:2 to 1:1"))
        yield "magnification", next((words for top, words in ladder if magnification < top), "1:1 and above")
    yield "year", str(made_on)[:4]
    ladder = ((50, "less than half"), (75, "half and more"), (100, "three quarters and more"))
    yield "measured", next((words for top, words in ladder if measured < top), "all of it")


def _full_stop(f_number) -> str:
    names = ("0.5", "0.7", "1", "1.4", "2", "2.8", "4", "5.6", "8", "11", "16", "22", "32", "45", "64", "90", "128")
    return names[min(max(round(2 * math.log2(f_number)) + 2, 0), len(names) - 1)]


def _needs(document):
    """Heads, rings and lamps; the sizes of the faces and of the strips as bits; the long side of the field."""
    counts, faces = {"flash": 0, "ring": 0, "continuous": 0}, [0, 0]
    for light in document.get("lights", ()):
        if not light.get("lit", True):
            continue
        head = light["head"]
        counts["ring" if head["form"] == "ring" else head["kind"]] += 1
        if light.get("modifier") and head["form"] != "ring" and faces[0] is not None:
            sides = sorted(side for side in (light.get("width_mm"), light.get("height_mm")) if side)
            if not sides:
                faces = [None, None]
                continue
            strip = light.get("shape") == "rectangle" and len(sides) == 2 and sides[1] >= 2.5 * sides[0]
            faces[int(strip)] |= 1 << min(max(math.floor(7 * math.log2(sides[-1] / 10.0)), 0), 62)
    return (*counts.values(), *faces, _field_mm(document))


def _field_mm(document):
    camera, magnification = document.get("camera"), document.get("settings", {}).get("magnification")
    if magnification == 0:
        return 1e9
    if camera is None or magnification is None:
        return None
    return max(camera["sensor_width_mm"], camera["sensor_height_mm"]) / magnification
