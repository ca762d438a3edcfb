"""Files of trips, by the million.

What pages and interfaces call:

sending    begin_import, understand, preview, ask, cancel_import, refused_report: a file from upload to its report
batch      bring_batch: up to some thousand rows from a program, each with its outcome

What these are made of:

staging    keeps a file as UTF-8 lines, and hands it out in chunks that end with a line
manner     how a file is understood: columns, units, separator, decimal sign, time zone
lines      a chunk to lines and cells; lines that cannot be split are refused
reading    cells to numbers in the kept units, all lines at once
limits     what no truck does
order      trips of one truck against each other: overlaps, meters that run back, clocks that jump
store      rows into the database, by its fastest way
chunk, job one chunk from bytes to rows; the job
"""
