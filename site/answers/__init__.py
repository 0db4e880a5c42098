"""Answers: one door from a request to the words and numbers a page shows, at build time and in the browser alike."""
