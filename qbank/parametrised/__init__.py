"""A family as one item that draws its own data, in the template language of the standard."""
