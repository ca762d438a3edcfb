"""Writers of files. They know columns and rows, and no table in particular."""
