"""How far apart places are."""

from math import asin, cos, radians, sin, sqrt

EARTH_KM = 6371.0


def great_circle_km(a: tuple[float, float], b: tuple[float, float]) -> float:
    """Return the great-circle distance of two places (latitude, longitude; degrees) in km, by the
    haversine formula."""
    lat_a, lat_b = radians(a[0]), radians(b[0])
    half_lat, half_lon = (lat_b - lat_a) / 2, radians(b[1] - a[1]) / 2
    chord = sin(half_lat) ** 2 + cos(lat_a) * cos(lat_b) * sin(half_lon) ** 2
    return 2 * EARTH_KM * asin(sqrt(chord))
