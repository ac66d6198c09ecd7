"""A small living world for trying the portal out, made through the services and the same every time."""
