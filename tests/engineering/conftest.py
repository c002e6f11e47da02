"""One Hypothesis profile for the computations: deterministic, no deadline that a busy machine would break."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "engineering", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("engineering")
