"""The store and the files: Django models, csv in and out."""
