"""The deep run: ``pytest tests/properties --hypothesis-profile=deep``, a thousand frames each."""

from hypothesis import settings

settings.register_profile("deep", max_examples=1000)
