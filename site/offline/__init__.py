"""The site as one offline unit: assembled, listed with digests, served, and measured."""
