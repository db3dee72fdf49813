"""What we say: terminal, JSON, CSV and the day sheet, from one table of rows."""
