"""A family as one item that draws its own data, in the template language of the standard."""

from qbank.parametrised.item import parametrise

__all__ = ["parametrise"]
