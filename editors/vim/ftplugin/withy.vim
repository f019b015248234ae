" Withy recipes. Works in Vim and in Neovim.
if exists('b:did_ftplugin') | finish | endif
let b:did_ftplugin = 1

setlocal comments=b:##,b:# commentstring=#\ %s
setlocal expandtab shiftwidth=2 softtabstop=2 tabstop=2
setlocal suffixesadd=.withy
" The file that a `use` line names, beside this one.
setlocal include=^\\s*use\\s path=.
let b:undo_ftplugin = 'setlocal comments< commentstring< expandtab< shiftwidth< softtabstop< tabstop< suffixesadd< include< path<'
