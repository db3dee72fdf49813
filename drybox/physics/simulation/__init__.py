"""The one simulation: box and prints stepped through the weather.

`state` is what is stepped, `balance` its rates, `forcing` what acts from outside, `step` the
step and `step_control` its length; `run`, `day_run`, `drying_times` and `empty_run` are runs;
`account` checks that heat and water close.
"""
