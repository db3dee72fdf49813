"""What an event says of finishing its dry prints.

`finishing` is what there is to press them flat, and where they go; `stages`
what a dry print goes through, and `curls` are the lifts noted.
"""
