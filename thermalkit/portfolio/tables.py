"""Rows of all sites as one Parquet table."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import asdict, fields
from typing import Any

from thermalkit.portfolio.rows import Row

_TYPES = {"str": "string", "int": "int64", "float": "double", "bool": "bool"}


def parquet_bytes(rows: Sequence[Row]) -> bytes:
    """The table, one row for each site in their order; the same bytes for the same rows.

    `missing` is written as JSON; what is no Unicode in the name of a folder becomes a question mark.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    schema = pa.schema(
        [
            (item.name, pa.type_for_alias(_TYPES.get(str(item.type).removesuffix(" | None"), "string")))
            for item in fields(Row)
        ]
    )
    plain = [_plain(row) | {"missing": json.dumps(row.missing, sort_keys=True)} for row in rows]
    stream = io.BytesIO()
    pq.write_table(pa.Table.from_pylist(plain, schema=schema), stream, compression="zstd")
    return stream.getvalue()


def _plain(row: Row) -> dict[str, Any]:
    return {
        name: value.encode("utf-8", "replace").decode() if isinstance(value, str) else value
        for name, value in asdict(row).items()
    }
