"""Parquet files beside the CSV files of an export, where pyarrow is installed (extra "parquet").

Each is made from its CSV file by the schema that the package states, some rows at once: one way
to write a value, and what the two hold cannot differ.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib import import_module
from typing import Any

from tankwalk.errors import Refusal
from tankwalk.exchange.aside import Aside

BLOCK = 4 << 20
"""Bytes of a CSV file that are read at once."""


def library() -> Any:
    """The library's CSV and Parquet parts; Refusal where it is not installed."""
    try:
        return (
            import_module("pyarrow"),
            import_module("pyarrow.csv"),
            import_module("pyarrow.parquet"),
        )
    except ImportError as fault:
        raise Refusal(
            "Parquet needs the library pyarrow: nothing was written. Install tankwalk with the "
            'extra "parquet", or export without --parquet.'
        ) from fault


def beside(aside: Aside, resources: Sequence[Mapping[str, Any]]) -> None:
    """A Parquet file for every CSV file that a package describes."""
    arrow, csv, parquet = library()
    types = {
        "integer": arrow.int64(), "number": arrow.float64(), "boolean": arrow.bool_(),
        "date": arrow.date32(), "datetime": arrow.timestamp("s", tz="UTC"),
        "string": arrow.string(),
    }  # fmt: skip
    for resource in resources:
        fields = {one["name"]: types[one["type"]] for one in resource["schema"]["fields"]}
        name = f"parquet/{resource['name']}.parquet"
        path = aside.folder / name
        path.parent.mkdir(exist_ok=True)
        reader = csv.open_csv(
            aside.folder / resource["path"],
            read_options=csv.ReadOptions(block_size=BLOCK, use_threads=False),
            parse_options=csv.ParseOptions(newlines_in_values=True),
            convert_options=csv.ConvertOptions(
                column_types=fields, null_values=[""], strings_can_be_null=True,
                quoted_strings_can_be_null=False,
                true_values=["true"], false_values=["false"],
            ),
        )  # fmt: skip
        with reader, parquet.ParquetWriter(path, reader.schema) as writer:
            for batch in reader:
                writer.write_batch(batch)
        aside.made(name)
