"""Words: an answer as text for a terminal, and the sentences that answers share.

`answer` is the record, `terminal` its text, `phrases` numbers and times as people read them;
`cautions`, `heat_words`, `plan_words`, `promise_words`, `spot_words`, `weather_words` and
`readings` are sentences on one matter.
"""
