[(block) (list) (group) (call)] @indent
["}" "]" ")"] @outdent
