"""The log on disk: one SQLite file. Import what you need from the modules; nothing is loaded here."""
