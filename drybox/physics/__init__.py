"""What happens: sun, light, heat, moist air, drying, washing; SI, kelvin and radians."""
