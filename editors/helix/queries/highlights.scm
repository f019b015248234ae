; Where several patterns fit, editors take the last one (some the first): no two of these fit one node, but for those
; that tell words apart by a table.

(comment) @comment
(doc_comment) @comment.line.documentation

(declaration keyword: _ @keyword)
(entry head: (head) @variable.other.member)
(rule_name) @label

["as" "at" "because" "computed" "for" "from" "no" "none" "on" "plus" "then" "until" "with" "within" "yes"] @keyword
["if" "else"] @keyword

(declaration keyword: _ . (name) @type)
(declaration keyword: _ . (call function: (name) @type))
(parameter name: (name) @variable.parameter)
(parameter kind: (kind) @type.builtin)
(given name: (name) @variable.parameter)

; begin functions: written from the compiler's table
((call function: (name) @function.builtin)
  (#any-of? @function.builtin "abs" "arc" "cos" "max" "min" "round" "sin" "sqrt" "tan"))
; end functions

(number) @constant.numeric
(fraction) @constant.numeric
(deviations) @constant.numeric
(date) @constant
(text) @string
(escape) @constant.character.escape

; begin units: written from the compiler's table
((unit_name) @type.builtin
  (#any-of? @type.builtin "%" "A" "AWG" "GPa" "J" "K" "MJ" "MPa" "N" "Pa" "V" "W" "Wh" "cm" "cm2" "cm3" "cmil" "cm²" "cm³" "deg" "degC" "degF" "delta_degC" "delta_degF" "ft" "ft2" "ft3" "ft²" "ft³" "g" "h" "in" "in2" "in3" "in²" "in³" "kJ" "kN" "kPa" "kV" "kW" "kWh" "kg" "kohm" "kΩ" "kΩ" "lb" "lbf" "m" "m2" "m3" "mA" "mK" "mN" "mV" "mW" "mg" "mil" "mil2" "mil²" "min" "mm" "mm2" "mm3" "mm²" "mm³" "mohm" "ms" "m²" "m³" "mΩ" "mΩ" "ohm" "oz" "psi" "rad" "s" "thou" "thou2" "thou²" "um" "um2" "um3" "um²" "um³" "uohm" "us" "°C" "°F" "µm" "µm2" "µm3" "µm²" "µm³" "µohm" "µs" "µΩ" "µΩ" "Ω" "μm" "μm2" "μm3" "μm²" "μm³" "μohm" "μs" "μΩ" "μΩ" "℃" "℉" "Ω" "K"))
; end units

["=" "==" "!=" "≠" "<" "<=" "≤" ">" ">=" "≥" "+" "-" "−" "*" "×" "·" "/" "^" "±" "+/-" "+-" ".."] @operator
["{" "}" "(" ")" "[" "]"] @punctuation.bracket
["," "." ":"] @punctuation.delimiter
