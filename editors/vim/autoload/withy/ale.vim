" Formats a buffer, for the plugin ALE: `let g:ale_fixers = {'withy': ['withy#ale#fix']}`.
function! withy#ale#fix(buffer) abort
  return {'command': ale#Escape(get(g:, 'withy_path', 'withy')) . ' format -'}
endfunction
