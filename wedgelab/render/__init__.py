"""The only places that draw: text, JSON, CSV and pictures of what the pure modules worked out."""
