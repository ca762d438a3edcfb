"""Parquet files as lines of CSV, batch by batch, so that they go the way of every other file."""

from collections.abc import Iterator
from typing import BinaryIO

import pyarrow as pa
from pyarrow import compute, parquet
from pyarrow import csv as arrow_csv

from fleet.imports.workbook import csv_text
from fleet.problems import FleetError

HEAD = b"PAR1"
# A group of rows is unpacked as a whole.
MOST_GROUP = 256 << 20
ROWS_AT_ONCE = 10_000


def parquet_lines(upload: BinaryIO) -> Iterator[str]:
    """The plain columns of a Parquet file. Raises FleetError on field ``file``."""
    try:
        file = parquet.ParquetFile(upload)
        groups = (file.metadata.row_group(place) for place in range(file.metadata.num_row_groups))
        if any(group.total_byte_size > MOST_GROUP for group in groups):
            sentence = "A group of rows in this file is too large. Write it in smaller groups."
            raise FleetError("file_too_large", "file", sentence)
        names = [field.name for field in file.schema_arrow if not pa.types.is_nested(field.type)]
        yield csv_text([names])
        for batch in file.iter_batches(ROWS_AT_ONCE, columns=names):
            out = pa.BufferOutputStream()
            plain = pa.RecordBatch.from_arrays([_plain(column) for column in batch.columns], names)
            arrow_csv.write_csv(plain, out, arrow_csv.WriteOptions(include_header=False, quoting_style="needed"))
            yield out.getvalue().to_pybytes().decode()
    except (pa.ArrowException, OSError, ValueError, KeyError, OverflowError) as error:
        sentence = "This Parquet file cannot be read. Send the table as CSV."
        raise FleetError("parquet_unreadable", "file", sentence) from error


def _plain(column: pa.Array) -> pa.Array:
    """Numbers and moments as they are, all else as text of one line; moments to the microsecond."""
    if pa.types.is_dictionary(column.type):
        column = column.dictionary_decode()
    if pa.types.is_timestamp(column.type):
        return column.cast(pa.timestamp("us", column.type.tz), safe=False)
    if pa.types.is_integer(column.type) or pa.types.is_float64(column.type):
        return column
    return compute.replace_substring_regex(column.cast(pa.string()), r"\s+", " ")
