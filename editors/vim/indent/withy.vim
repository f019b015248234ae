" Two blanks deeper in every brace and bracket that is still open, and where a line goes on with the one above.
if exists('b:did_indent') | finish | endif
let b:did_indent = 1

setlocal autoindent nosmartindent indentexpr=withy#indent#of(v:lnum) indentkeys=0},0],0),o,O,!^F
let b:undo_indent = 'setlocal autoindent< smartindent< indentexpr< indentkeys<'
