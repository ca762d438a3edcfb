"""Files of trips, line by line."""

HEADING = "truck,start,duration_h,distance_km,fuel_l"


def lines(*rows: str, heading: str = HEADING) -> str:
    return "\n".join((heading, *rows)) + "\n"
