"""Renders the pictures of the demo shoots: `python -m tests.demo_bake` writes them into webapp/demo/pictures.

Three still lifes are rendered in linear light, each light alone, and a made camera adds up what was on the set and
writes the file that a camera would write. The program carries only these files; a change here, or to the settings in
webapp/demo/*_shoot*.py, wants them to be rendered again.
"""
