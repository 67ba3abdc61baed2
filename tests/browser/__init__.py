"""The program as a person has it before them: a real browser on a real server."""
