" What a person does in Vim with ALE, in a library of their own. Each step writes a line to the file that $RESULT names.

function! s:say(line) abort
  call writefile([a:line], $RESULT, 'a')
endfunction

function! s:check(condition, what) abort
  if !a:condition | throw a:what | endif
endfunction

" Waits until an expression is true.
function! s:wait(what, condition) abort
  for _ in range(400)
    if a:condition() | return | endif
    sleep 50m
  endfor
  throw 'waited in vain for ' . a:what
endfunction

function! s:group(line, text) abort
  let column = match(getline(a:line), '\V' . escape(a:text, '\')) + 1
  call s:check(column > 0, 'line ' . a:line . ' does not hold ' . a:text)
  return synIDattr(synID(a:line, column, 1), 'name')
endfunction

function! s:colours() abort
  edit bench/west.withy
  call s:check(&filetype ==# 'withy', 'the kind of file is ' . &filetype)
  let first = search('^heater front_line', 'w')
  for [line, text, group] in [
  \ [first, 'heater', 'withyDeclaration'], [first, 'front_line', 'withyDeclared'],
  \ [search('^  length', 'w'), 'length', 'withyHead'], [search('^  length', 'w'), 'mm', 'withyUnit'],
  \ [search('^  length', 'w'), '620', 'withyNumber'], [search('^# ', 'w'), '#', 'withyComment'],
  \ [search('^##', 'w'), '#', 'withyDoc'], [search(' from ', 'w'), 'from', 'withyReserved']]
    call s:check(s:group(line, text) ==# group, text . ' is coloured as ' . s:group(line, text))
  endfor
endfunction

function! s:indent() abort
  edit recipes/tent_card.withy
  let right = getline(1, '$')
  silent normal! gg=G
  call s:check(getline(1, '$') ==# right, 'the indentation changes a file in the right style')
endfunction

function! s:messages() abort
  return map(copy(ale#engine#GetLoclist(bufnr(''))), {_, one -> one.lnum . ': ' . one.text})
endfunction

function! s:diagnostics() abort
  edit recipes/tent_card.withy
  %s/ambient 19/ambeint 19/
  ALELint
  let line = search('ambeint', 'w')
  call s:wait('the finding', {-> !empty(filter(s:messages(), {_, text -> text =~# '^' . line . ': .*no entry of a recipe'}))})
  undo
  ALELint
  call s:wait('no finding', {-> empty(filter(s:messages(), {_, text -> text =~# 'no entry'}))})
endfunction

function! s:hover() abort
  edit recipes/tent_card.withy
  call search('transfer 2.5 s', 'w')
  ALEHover
  " ALE shows it in a window above.
  call s:wait('the hover', {-> !empty(filter(range(1, winnr('$')), {_, window -> join(getbufline(winbufnr(window), 1, '$')) =~# 'heater off to bend finished'}))})
endfunction

function! s:format() abort
  edit parts/riser.withy
  let right = getline(1, '$')
  silent %s/^  \+/       /
  call s:check(getline(1, '$') !=# right, 'nothing was spoilt')
  ALEFix
  call s:wait('the right style', {-> getline(1, '$') ==# right})
endfunction

let g:ale_hover_to_preview = 1
let g:ale_fixers = {'withy': ['withy#ale#fix']}
try
  for step in split($STEPS)
    call call('s:' . step, [])
    call s:say('ok ' . step)
  endfor
catch
  call s:say('failed ' . step . ': ' . v:exception . ' at ' . v:throwpoint)
  cquit
endtry
qall!
