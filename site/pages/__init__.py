"""The pages: a Flask app with one page per task of the workshop, frozen to plain files at build time."""
