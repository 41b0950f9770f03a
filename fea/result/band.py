"""How far a joint rule's bounds lie apart, in words."""

BAND_WORTH_A_WORD = 0.10
"""Spread between the joint bounds, over the stiffness, that is told in a sentence."""


def band_sentence(value: float, soft: float, stiff: float) -> str | None:
    """Return a sentence if the joint rule's bounds lie far apart, None if they do not."""
    spread = (stiff - soft) / value
    if spread <= BAND_WORTH_A_WORD:
        return None
    return (
        f"The twist stiffness depends on how joints hold warping: between their soft and stiff"
        f" bounds it runs over {100.0 * spread:.0f} % of the figure. Take the joints as sheet"
        f" metal (--joints sheet) for a surer one."
    )
