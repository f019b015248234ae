" How many of the open and closing marks stand in a line, outside of texts and comments.
function! s:balance(line) abort
  let bare = substitute(substitute(a:line, '"\%([^"\\]\|\\.\)*"', '', 'g'), '#.*', '', '')
  return len(substitute(bare, '[^{[(]', '', 'g')) - len(substitute(bare, '[^}\])]', '', 'g'))
endfunction

" The indent of a line, from the line above it that is not empty.
function! withy#indent#of(number) abort
  let above = prevnonblank(a:number - 1)
  if above == 0 | return 0 | endif
  let line = getline(above)
  let depth = s:balance(line)
  " A line that only closes has been moved out already.
  if line =~# '^\s*[}\])]' | let depth += 1 | endif
  let depth = max([-1, min([1, depth])])
  if getline(a:number) =~# '^\s*[}\])]' | let depth -= 1 | endif
  return max([0, indent(above) + depth * shiftwidth()])
endfunction
