"""The tables of a register. Notes are the truth; what can be worked out from them is marked so.

Moments are whole numbers, the same in both databases: `recorded` in microseconds since 1970 UTC,
`seen` as `day · DAY + microsecond of the day + 1` (no time of day: `day · DAY`), days since 1970.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    Double,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
)

metadata = MetaData()

# SQLite keeps a row under its number only if the column is called INTEGER.
Number = BigInteger().with_variant(Integer(), "sqlite")

register_info = Table(
    "register_info",
    metadata,
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

planting = Table(
    "planting",
    metadata,
    Column("no", Number, primary_key=True, autoincrement=False),
    Column("id", LargeBinary, nullable=False, unique=True),
    Column("version", Number, nullable=False),
)

shrub = Table(
    "shrub",
    metadata,
    Column("no", Number, primary_key=True, autoincrement=False),
    Column("planting", Number, ForeignKey("planting.no"), nullable=False),
    Column("tag", Text, nullable=False),
    UniqueConstraint("planting", "tag", name="shrub_tag"),
)

note = Table(
    "note",
    metadata,
    Column("n", Number, primary_key=True, autoincrement=False),
    Column("id", LargeBinary, nullable=False, unique=True),
    Column("planting", Number, ForeignKey("planting.no"), nullable=False),
    Column("shrub", Number, ForeignKey("shrub.no")),
    Column("kind", Text, nullable=False),
    Column("seen", Number, nullable=False),
    Column("recorded", Number, nullable=False),
    Column("hash", LargeBinary, nullable=False),
    Column("body", Text, nullable=False),
    Index("note_of_shrub", "shrub", "seen"),
    Index("note_of_kind", "planting", "kind", "seen"),
)

# Worked out: a note that stands in for another, with the first note of its thread.
stand_in = Table(
    "stand_in",
    metadata,
    Column("note", Number, ForeignKey("note.n"), primary_key=True, autoincrement=False),
    Column("id", LargeBinary, nullable=False),
    Column("instead_of", Number, ForeignKey("note.n"), nullable=False),
    Column("thread", Number, ForeignKey("note.n"), nullable=False),
    Column("depth", Number, nullable=False),
    Column("recorded", Number, nullable=False),
    Index("stand_in_thread", "thread"),
)

# Worked out: which notes tell what a shrub is now (see `digest.py`).
shrub_now = Table(
    "shrub_now",
    metadata,
    Column("shrub", Number, ForeignKey("shrub.no"), primary_key=True, autoincrement=False),
    Column("digest", Text, nullable=False),
)

weather_source = Table(
    "weather_source",
    metadata,
    Column("no", Number, primary_key=True, autoincrement=False),
    Column("planting", Number, ForeignKey("planting.no"), nullable=False),
    Column("name", Text, nullable=False),
    Column("trust", Integer, nullable=False),
    Column("latitude", Double),
    Column("longitude", Double),
    Column("elevation", Double),
    Column("utc_offset", Double),
    UniqueConstraint("planting", "name", name="weather_source_name"),
)

weather_day = Table(
    "weather_day",
    metadata,
    Column("source", Number, ForeignKey("weather_source.no"), primary_key=True),
    Column("time", Number, primary_key=True),
    Column("tmin", Double),
    Column("tmax", Double),
    Column("rain", Double),
    sqlite_with_rowid=False,
)

weather_hour = Table(
    "weather_hour",
    metadata,
    Column("source", Number, ForeignKey("weather_source.no"), primary_key=True),
    Column("time", Number, primary_key=True),
    Column("temp", Double),
    Column("rh", Double),
    Column("wind_speed", Double),
    Column("wind_from", Double),
    Column("rain", Double),
    sqlite_with_rowid=False,
)

# Not part of the register's content: answers worked out once; may be emptied at any time.
kept_answer = Table(
    "kept_answer",
    metadata,
    Column("key", Text, primary_key=True),
    Column("value", LargeBinary, nullable=False),
    Column("kept", Number, nullable=False),
    Index("kept_answer_kept", "kept"),
)
