; Two blanks deeper in every block; a list, a bracket and a line that goes on likewise.
[(block) (list) (group) (call)] @indent.begin
["}" "]" ")"] @indent.branch
[(block "}" @indent.end) (list "]" @indent.end) (group ")" @indent.end) (call ")" @indent.end)]
[(comment) (doc_comment)] @indent.auto
