"""Files that bring rows into the register.

source   bytes to lines of cells, each with the text as it came; a workbook's by way of ``workbook``
columns  which column is meant by which heading, and how a cell is read
known    the register as far as the file is about it, loaded at once
named    what one line names of the register, which must have it
steps    what one line asks for, held against what is known; its fitment in ``fitting``
formats  one file per kind of file; a new kind is one new file and one line in ``formats/__init__.py``
trial    the trial run: every line with what it would do, or why it is refused
staging  keeps a file between its trial run and the word to go ahead, which for a long one is a ``job``
report   the refused lines to take away
kept     where files on their way in are kept, and for how long
trips    files of trips, by the million
"""
