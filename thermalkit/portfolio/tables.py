"""Rows of all sites as one Parquet table."""

from __future__ import annotations

import io
import json
from collections.abc import Sequence
from dataclasses import asdict, fields

from thermalkit.portfolio.rows import Row

_TYPES = {"str": "string", "int": "int64", "float": "double", "bool": "bool"}


def parquet_bytes(rows: Sequence[Row]) -> bytes:
    """The table, one row for each site in their order; the same bytes for the same rows.

    `missing` is written as JSON.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    schema = pa.schema(
        [
            (item.name, pa.type_for_alias(_TYPES.get(str(item.type).removesuffix(" | None"), "string")))
            for item in fields(Row)
        ]
    )
    plain = [asdict(row) | {"missing": json.dumps(row.missing, sort_keys=True)} for row in rows]
    stream = io.BytesIO()
    pq.write_table(pa.Table.from_pylist(plain, schema=schema), stream, compression="zstd")
    return stream.getvalue()
