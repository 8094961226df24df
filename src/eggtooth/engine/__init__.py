"""Pure computation: takes dates and random generators as arguments; reads no clock, file or database."""
