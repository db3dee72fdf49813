"""The one simulation: box and prints stepped through the weather.

`state` is what is stepped, `balance` its rates, `forcing` what acts from outside, `step` the
step and `step_control` its length; `run`, `day_run` and `drying_times` are runs;
`compiled` is the step in C, where it was built; `account` checks that heat and water close.
"""
