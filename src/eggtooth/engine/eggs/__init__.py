"""Incubation: from laid date and temperature to pip date."""
