"""Keys off the surface on which their siblings' keys lie, where no family says what is right."""
