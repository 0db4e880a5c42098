"""The calculations of Tarewell: pure Python, no browser, pages or storage."""
