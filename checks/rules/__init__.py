"""Many checks, from readings to what follows from them. Pure: no database, no Django."""
