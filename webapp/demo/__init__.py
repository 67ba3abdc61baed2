"""The made pictures of the demo: three still lifes rendered in linear light, and the camera that takes them."""
