"""A quote as it stands once it has been worked out."""

FOUND = {
    "person_minutes": 5400,
    "material": {"kg": 812.5, "powder_kg": 301.5, "tape_m": 644.0},
    "cost": {"labour": 405000, "material": 91250},
    "unpriced": ["travel_hour"],
    "holds": [],
    "handover_on": "2026-04-02",
    "in_time": 0.74,
    "holds_on": "2026-04-07",
}
