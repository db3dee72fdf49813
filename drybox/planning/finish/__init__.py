"""From dry to flat and in its folder.

`finish` answers for a print or a batch: `ways` of flattening it and the choice, `pull` when to
pull it, `hand_over` what it may be enclosed in; `sheet` is the print as its curl sees it, and
`taught` what noted lifts say of that. `day` leads an event's dry prints through the stages that
it lists, by `queue`.
"""
