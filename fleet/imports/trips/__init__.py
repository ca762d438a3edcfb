"""Files of trips, by the million.

What pages and interfaces call:

sending    begin_import, understand, ask, cancel_import, refused_report: a file from upload to its report
preview    the first lines of a file as they are understood
progress   how far a file is, and what became of its lines
batch      bring_batch: up to some thousand rows from a program, each with its outcome

What these are made of:

staging    keeps a file as UTF-8 lines, and hands it out in chunks that end with a line; ``parquet`` to such lines
manner     how a file is understood: columns, units, separator, decimal sign, time zone
guessing   how it most likely is, by its headings and first lines
lines      a chunk to lines and cells; lines that cannot be split are refused
reading    cells to numbers in the kept units, all lines at once; ``clocks`` for the times
limits     what no truck does
order      trips of one truck against each other: overlaps, meters that run back, clocks that jump
store      rows into the database, by its fastest way; ``months`` forms truck-months that came whole
told       what each chunk told: how many lines each reason refused, and the span written
chunk, job one chunk from bytes to rows; the job
"""
