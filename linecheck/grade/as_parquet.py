"""A grade book as Apache Parquet, for a notebook: a row a submission, by the columns of the CSV.

Needs pyarrow, which is not among what linecheck installs.
"""

from __future__ import annotations

import io
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from linecheck.grade.columns import Column

__all__ = ["can_write_parquet", "grades_parquet"]


def can_write_parquet() -> bool:
    """Whether pyarrow is there."""
    return find_spec("pyarrow") is not None


def grades_parquet(rows: Sequence[Mapping[str, Any]], columns: Sequence[Column]) -> bytes:
    """The whole file."""
    import pyarrow as pa  # noqa: PLC0415  (optional)
    import pyarrow.parquet as pq  # noqa: PLC0415

    kinds = {str: pa.string(), float: pa.float64(), int: pa.int64(), bool: pa.bool_()}
    table = pa.table(
        {
            column.name: pa.array([row[column.name] for row in rows], type=kinds[column.kind])
            for column in columns
        }
    )
    file = io.BytesIO()
    pq.write_table(table, file)
    return file.getvalue()
