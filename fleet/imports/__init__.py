"""Files that bring rows into the register.

source   bytes to lines of cells, each with the text as it came
columns  which column is meant by which heading, and how a cell is read
known    the register as far as the file is about it, loaded at once
steps    what one line asks for, held against what is known
formats  one file per kind of file; a new kind is one new file and one line in ``formats/__init__.py``
trial    the trial run: every line with what it would do, or why it is refused
staging  keeps a file between its trial run and the word to go ahead
"""
