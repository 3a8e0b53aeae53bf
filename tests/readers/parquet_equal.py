"""Whether runs.parquet says the same as runs.csv, cell by cell.

    python tests/readers/parquet_equal.py FOLDER

reads both files of a study with readers that are not its writer's: the csv module and pyarrow, the reference library of the
format. Numbers must be the same to the bit, an empty cell is null. Ends with 1 and the first difference, else with 0.
"""

import csv
import struct
import sys
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq


def bits(value):
    """A double as its bits, so that a zero below zero is another."""
    return struct.pack(">d", value)


def says(cell, value, kind):
    """Whether a cell of the CSV says what the column has."""
    if value is None:
        return cell == ""
    if pa.types.is_float64(kind):
        return cell != "" and bits(float(cell)) == bits(value)
    if pa.types.is_int64(kind):
        return cell == str(value)
    # A text that is empty cannot be told from none.
    return cell == value


def differences(folder):
    """The first thing in which the files differ, if there is one."""
    file = pq.ParquetFile(folder / "runs.parquet")
    kinds = file.schema_arrow.types
    names = file.schema_arrow.names
    for name, kind in zip(names, kinds):
        if not (pa.types.is_float64(kind) or pa.types.is_int64(kind) or pa.types.is_string(kind)):
            yield f"column {name}: its type is {kind}"
    with open(folder / "runs.csv", encoding="utf-8", newline="") as text:
        lines = csv.reader(text)
        heads = next(lines)
        if heads != names:
            yield f"columns: {heads} in CSV, {names} in Parquet"
        line = 0
        for batch in file.iter_batches():
            columns = [column.to_pylist() for column in batch.columns]
            for values in zip(*columns):
                line += 1
                cells = next(lines, None)
                if cells is None:
                    yield f"row {line}: only in Parquet"
                    return
                if len(cells) != len(values):
                    yield f"row {line}: {len(cells)} cells in CSV, {len(values)} in Parquet"
                for name, kind, cell, value in zip(names, kinds, cells, values):
                    if not says(cell, value, kind):
                        yield f"row {line}, {name}: {cell!r} in CSV, {value!r} in Parquet"
        if next(lines, None) is not None:
            yield f"row {line + 1}: only in CSV"
    if line != file.metadata.num_rows:
        yield f"{file.metadata.num_rows} rows are told, {line} found"
    print(f"{line} rows of {len(names)} columns in {file.num_row_groups} groups, by {file.metadata.created_by}")


def main():
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    for difference in differences(Path(sys.argv[1])):
        print(difference)
        sys.exit(1)


main()
