" The language server, for the plugin ALE. `g:withy_path` says where the program lies, if it is not on the path.

function! s:executable(buffer) abort
  return get(g:, 'withy_path', 'withy')
endfunction

function! s:root(buffer) abort
  let settings = ale#path#FindNearestFile(a:buffer, 'withy.toml')
  return fnamemodify(empty(settings) ? bufname(a:buffer) : settings, ':p:h')
endfunction

function! s:wishes(buffer) abort
  return {'hints': get(g:, 'withy_hints', {})}
endfunction

call ale#linter#Define('withy', {
\ 'name': 'withy',
\ 'lsp': 'stdio',
\ 'executable': function('s:executable'),
\ 'command': '%e language-server',
\ 'project_root': function('s:root'),
\ 'initialization_options': function('s:wishes'),
\})
