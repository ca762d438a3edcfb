"""Forms of the registers as a browser sends them."""

POLICY = {
    "inside_level_text": "95",
    "inside_level_unit": "%",
    "risk_level_text": "5",
    "risk_level_unit": "%",
    "leaving_level_text": "50",
    "leaving_level_unit": "%",
    "target_outside_text": "5",
    "target_outside_unit": "%",
    "risk_min_days": "30",
    "horizon_days": "90",
    "usage_basis": "km",
    "first_look_km_text": "50000",
    "first_look_km_unit": "mi",
    "usage_max_km_text": "120000",
    "usage_max_km_unit": "km",
    "after_adjustment_km_text": "20000",
    "after_adjustment_km_unit": "km",
    "fallback_km_per_day_text": "350",
    "fallback_km_per_day_unit": "km",
    "first_look_days": "365",
    "calendar_max_days": "300",
    "after_adjustment_days": "60",
    "undecided_days": "14",
    "void_days": "7",
    "outside_days": "3",
    "complaint_days": "14",
    "reason": "a harder winter",
}


def posted(entry):
    """An entry as a browser sends it."""
    data = {}
    for name, value in entry.items():
        if isinstance(value, list):
            data |= {f"{name}_text": value[0], f"{name}_unit": value[1]}
        else:
            data[name] = value
    return data
