-- Colours and folds by tree-sitter, where the parser is installed; else `syntax/withy.vim` serves.
if vim.treesitter and vim.treesitter.start and pcall(vim.treesitter.start) then
  vim.wo.foldmethod = 'expr'
  vim.wo.foldexpr = 'v:lua.vim.treesitter.foldexpr()'
  vim.wo.foldlevel = 99
end
