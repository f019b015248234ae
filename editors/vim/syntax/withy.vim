" Colours for Withy recipes, in Vim and in Neovim without a tree-sitter parser.
if exists('b:current_syntax') | finish | endif

syntax iskeyword @,48-57,_,192-255
syntax match withyName /\<\k\+\>/ contained

syntax match withyOperator /±\|+\/-\|+-\|\.\.\|[<>=!]=\|[-−+*^=<>≠≤≥×·]/
syntax match withyNumber /\<\d[0-9_]*\%(\.\d[0-9_]*\)\?\%([eE][+-]\?\d\+\)\?\>/
syntax match withyNumber /\<\d\+\/\d\+\>/
syntax match withyNumber /+\d[0-9._/]*\/-\d[0-9._/]*/
syntax match withyDate /\<\d\{4}-\d\d-\d\d\>/

" begin words: written from the compiler's tables
syntax match withyHead /\%(^\|[{,]\)\@1<=\s*\%(temperature_coefficient\|thickness_tolerance\|computed_times\|mean_expansion\|one_face_up_to\|program_space\|specific_heat\|conductivity\|fence_change\|heated_width\|least_radius\|neutral_line\|swing_change\|resistivity\|calibrated\|continuous\|controller\|decomposes\|emissivity\|heat_limit\|hot_factor\|reposition\|springback\|expansion\|operators\|thickness\|turn_over\|diameter\|handling\|language\|material\|measured\|softened\|transfer\|ambient\|ceiling\|channel\|density\|forming\|preload\|profile\|release\|surface\|voltage\|warm_up\|accept\|colour\|expect\|factor\|heater\|height\|length\|output\|repeat\|shield\|spring\|stored\|supply\|swings\|switch\|travel\|trials\|unload\|alloy\|clamp\|depth\|every\|fence\|fumes\|hinge\|input\|inset\|leads\|limit\|metal\|order\|place\|rated\|reach\|reads\|sheet\|swing\|width\|wired\|area\|base\|bend\|face\|film\|fuse\|good\|grip\|heat\|kind\|line\|load\|mass\|rate\|size\|wire\|arm\|gap\|leg\|run\|set\)\>/
syntax keyword withyReserved as at because computed else for from if no none on plus then until with within yes
syntax match withyFunction /\<\%(round\|sqrt\|abs\|arc\|cos\|max\|min\|sin\|tan\)\ze(/
syntax match withyUnit /\%(\d\s*\|[/*·]\)\@3<=\%(delta_degC\|delta_degF\|thou²\|mil²\|thou2\|µm²\|µm³\|µohm\|µΩ\|μm²\|μm³\|μohm\|μΩ\|cmil\|cm²\|cm³\|degC\|degF\|ft²\|ft³\|in²\|in³\|kohm\|kΩ\|mil2\|mm²\|mm³\|mohm\|mΩ\|thou\|um²\|um³\|uohm\|µm2\|µm3\|µΩ\|μm2\|μm3\|μΩ\|AWG\|GPa\|MPa\|cm2\|cm3\|deg\|ft2\|ft3\|in2\|in3\|kPa\|kWh\|kΩ\|lbf\|mil\|min\|mm2\|mm3\|m²\|m³\|mΩ\|ohm\|psi\|rad\|um2\|um3\|°C\|°F\|µm\|µs\|μm\|μs\|℃\|℉\|Ω\|K\|MJ\|Pa\|Wh\|cm\|ft\|in\|kJ\|kN\|kV\|kW\|kg\|lb\|m2\|m3\|mA\|mK\|mN\|mV\|mW\|mg\|mm\|ms\|oz\|um\|us\|Ω\|%\|A\|J\|K\|N\|V\|W\|g\|h\|m\|s\)\k\@!/
syntax match withyDeclaration /^\%(controller\|material\|heater\|recipe\|supply\|alloy\|batch\|bench\|metal\|sheet\|part\|wire\|let\|lot\|use\)\>/ nextgroup=withyDeclared skipwhite
" end words

syntax match withyRule /\%(\<accept\s\+\)\@<=\k\+\%(-\k\+\)*/
syntax match withyDeclared /\%(^\s*\k\+\s\+\)\@<=\k\+/ contained
syntax match withyEscape /\\["\\]/ contained
syntax region withyText start=/"/ skip=/\\./ end=/"\|$/ oneline contains=withyEscape
syntax match withyComment /#.*/ contains=@Spell
syntax match withyDoc /##.*/ contains=@Spell

highlight default link withyDeclaration Keyword
highlight default link withyDeclared Type
highlight default link withyHead Identifier
highlight default link withyReserved Statement
highlight default link withyFunction Function
highlight default link withyUnit Type
highlight default link withyNumber Number
highlight default link withyDate Constant
highlight default link withyOperator Operator
highlight default link withyRule Label
highlight default link withyText String
highlight default link withyEscape SpecialChar
highlight default link withyComment Comment
highlight default link withyDoc SpecialComment

let b:current_syntax = 'withy'
