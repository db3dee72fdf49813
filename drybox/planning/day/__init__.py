"""The event day: a promise for every sitter.

`plan` is the whole; `samples` what is not known of it, `stages` the wet line, `drying_table` how a
lone print dries by when it is laid on, `ways` which way each print takes, `plate_and_line` how it
dries, `simulation` all of it run; `promises` (in `told` also by the hour), `what_if` (more in
`other`) and `supplies` are read off the run.
"""
