"""Logs in Parquet as other programs write them: DuckDB 2.0.1 and Polars 2.1.0.

All hold the same six rows of an invented station, a second apart from 2026-07-14T06:10:00Z, with a
power that is missing in the third row; each differs in types, packing or pages.
"""

import datetime
import pathlib

import duckdb
import polars as pl

HERE = pathlib.Path(__file__).resolve().parents[1]
START = datetime.datetime(2026, 7, 14, 6, 10, tzinfo=datetime.timezone.utc)
TIMES = [START + datetime.timedelta(seconds=s) for s in range(6)]
POWER = [33.4, 33.5, None, 9.2, 9.3, 0.0]
PRESSURE = [7.02, 7.03, 7.05, 7.04, 7.01, 7.0]

duck = duckdb.connect()
duck.execute("set timezone = 'UTC'")
duck.execute("""create table log (time timestamptz, "K1.power [kW]" double,
    "MAIN.pressure [bar(g)]" double)""")
duck.executemany("insert into log values (?, ?, ?)", list(zip(TIMES, POWER, PRESSURE)))


def by_duckdb(name, select, options):
    duck.execute(f"copy ({select}) to '{HERE / name}' (format parquet, {options})")


by_duckdb("duckdb-snappy.parquet", "select * from log", "compression snappy")
by_duckdb("duckdb-zstd-v2.parquet", "select * from log",
          "compression zstd, parquet_version v2")
by_duckdb("duckdb-lz4.parquet", "select * from log", "compression lz4_raw")
by_duckdb("duckdb-types.parquet", """select
    (time at time zone 'Europe/Lisbon')::timestamp_ns as time,
    "K1.power [kW]"::decimal(9, 1) as "K1.power [kW]",
    ("MAIN.pressure [bar(g)]" * 100)::integer as "MAIN.pressure [kPa(g)]",
    "K1.power [kW]" > 5 as "K1.running",
    ("K1.power [kW]" > 20)::utinyint as "K1.loaded",
    [1, 2] as list, date '2026-07-14' as day from log""", "compression gzip")
by_duckdb("duckdb-text.parquet", """select
    strftime(time at time zone 'Europe/Lisbon', '%d.%m.%Y %H:%M:%S') as time,
    replace("K1.power [kW]"::varchar, '.', ',') as "K1.power [kW]" from log""",
          "compression uncompressed")
by_duckdb("duckdb-no-time.parquet", """select "K1.power [kW]" from log""",
          "compression snappy")
by_duckdb("duckdb-wrong-types.parquet", """select epoch(time)::bigint as time,
    ["K1.power [kW]"] as "K1.power [kW]" from log""", "compression snappy")
by_duckdb("duckdb-unsorted.parquet", "select * from log order by time desc",
          "compression snappy")
by_duckdb("duckdb-empty.parquet", "select * from log where false", "compression snappy")

frame = pl.DataFrame({
    "time": pl.Series(TIMES).cast(pl.Datetime("ms", "UTC")),
    "K1.power [kW]": pl.Series(POWER, dtype=pl.Float32),
    "MAIN.pressure [bar(g)]": pl.Series(PRESSURE, dtype=pl.Float64),
})
frame.write_parquet(HERE / "polars-zstd.parquet", compression="zstd", row_group_size=2)
local = frame.with_columns(pl.col("time").dt.convert_time_zone("Europe/Lisbon")
                           .dt.replace_time_zone(None).dt.cast_time_unit("us"))
local.write_parquet(HERE / "polars-local.parquet", compression="uncompressed", data_page_size=16)
