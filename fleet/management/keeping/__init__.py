"""A copy of a whole installation and its way back: the database, the photographs, the files on their way in."""
