;;; withy-mode.el --- Recipes for bending acrylic sheet  -*- lexical-binding: t; coding: utf-8 -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "26.1"))
;; Keywords: languages
;; SPDX-License-Identifier: MIT OR Apache-2.0

;;; Commentary:

;; Colours, indentation, and the language server by way of Eglot: `M-x eglot' in a buffer, or
;; (add-hook 'withy-mode-hook #'eglot-ensure) in your settings.

;;; Code:

(defgroup withy nil
  "Recipes for bending acrylic sheet."
  :group 'languages)

(defcustom withy-path "withy"
  "The program, or where it lies if it is not on the path."
  :type 'string)

(defcustom withy-hints nil
  "Kinds of hints that are switched on or off: (:times :json-false)."
  :type 'plist)

(defvar withy-mode-syntax-table
  (let ((table (make-syntax-table)))
    (modify-syntax-entry ?_ "w" table)
    (modify-syntax-entry ?# "<" table)
    (modify-syntax-entry ?\n ">" table)
    (modify-syntax-entry ?\" "\"" table)
    (modify-syntax-entry ?\\ "\\" table)
    (modify-syntax-entry ?% "." table)
    (dolist (pair '("{}" "[]" "()"))
      (modify-syntax-entry (aref pair 0) (concat "(" (substring pair 1)) table)
      (modify-syntax-entry (aref pair 1) (concat ")" (substring pair 0 1)) table))
    table))

;; begin words: written from the compiler's tables
(defconst withy--declarations '("alloy" "batch" "bench" "controller" "heater" "let" "lot" "material" "metal" "part" "recipe" "sheet" "supply" "use" "wire"))
(defconst withy--heads '("accept" "alloy" "ambient" "area" "arm" "base" "bend" "calibrated" "ceiling" "channel" "clamp" "colour" "computed_times" "conductivity" "continuous" "controller" "decomposes" "density" "depth" "diameter" "emissivity" "every" "expansion" "expect" "face" "factor" "fence" "fence_change" "film" "forming" "fumes" "fuse" "gap" "good" "grip" "handling" "heat" "heat_limit" "heated_width" "heater" "height" "hinge" "hot_factor" "input" "inset" "kind" "language" "leads" "least_radius" "leg" "length" "limit" "line" "load" "mass" "material" "mean_expansion" "measured" "metal" "neutral_line" "one_face_up_to" "operators" "order" "output" "place" "preload" "profile" "program_space" "rate" "rated" "reach" "reads" "release" "repeat" "reposition" "resistivity" "run" "set" "sheet" "shield" "size" "softened" "specific_heat" "spring" "springback" "stored" "supply" "surface" "swing" "swing_change" "swings" "switch" "temperature_coefficient" "thickness" "thickness_tolerance" "transfer" "travel" "trials" "turn_over" "unload" "voltage" "warm_up" "width" "wire" "wired"))
(defconst withy--reserved '("as" "at" "because" "computed" "else" "for" "from" "if" "no" "none" "on" "plus" "then" "until" "with" "within" "yes"))
(defconst withy--units '("%" "A" "AWG" "GPa" "J" "K" "MJ" "MPa" "N" "Pa" "V" "W" "Wh" "cm" "cm2" "cm3" "cmil" "cm²" "cm³" "deg" "degC" "degF" "delta_degC" "delta_degF" "ft" "ft2" "ft3" "ft²" "ft³" "g" "h" "in" "in2" "in3" "in²" "in³" "kJ" "kN" "kPa" "kV" "kW" "kWh" "kg" "kohm" "kΩ" "kΩ" "lb" "lbf" "m" "m2" "m3" "mA" "mK" "mN" "mV" "mW" "mg" "mil" "mil2" "mil²" "min" "mm" "mm2" "mm3" "mm²" "mm³" "mohm" "ms" "m²" "m³" "mΩ" "mΩ" "ohm" "oz" "psi" "rad" "s" "thou" "thou2" "thou²" "um" "um2" "um3" "um²" "um³" "uohm" "us" "°C" "°F" "µm" "µm2" "µm3" "µm²" "µm³" "µohm" "µs" "µΩ" "µΩ" "Ω" "μm" "μm2" "μm3" "μm²" "μm³" "μohm" "μs" "μΩ" "μΩ" "℃" "℉" "Ω" "K"))
(defconst withy--functions '("abs" "arc" "cos" "max" "min" "round" "sin" "sqrt" "tan"))
;; end words

(defconst withy--font-lock
  (let ((head "\\(?:^\\|[{,]\\)[ \t]*"))
    `((,(concat "^" (regexp-opt withy--declarations 'words) "\\(?:[ \t]+\\([[:alpha:]_][[:alnum:]_]*\\)\\)?")
       (1 font-lock-keyword-face) (2 font-lock-type-face nil t))
      (,(concat head "\\(accept\\)[ \t]+\\([[:alnum:]_-]+\\)")
       (1 font-lock-variable-name-face) (2 font-lock-constant-face))
      (,(concat head (regexp-opt withy--heads 'words)) 1 font-lock-variable-name-face)
      (,(regexp-opt withy--reserved 'words) . font-lock-keyword-face)
      (,(concat "[0-9]\\s-*\\(" (regexp-opt withy--units) "\\)\\(?:\\W\\|$\\)") 1 font-lock-builtin-face)
      (,(concat (regexp-opt withy--functions 'words) "(") 1 font-lock-function-name-face))))

(defun withy-indent-line ()
  "Indent the line: two blanks deeper in every brace and bracket that is open before it."
  (interactive)
  (let* ((depth (save-excursion (car (syntax-ppss (line-beginning-position)))))
         (closes (save-excursion (back-to-indentation) (looking-at "[]})]")))
         (column (* 2 (max 0 (if closes (1- depth) depth)))))
    (if (<= (current-column) (current-indentation))
        (indent-line-to column)
      (save-excursion (indent-line-to column)))))

;;;###autoload
(define-derived-mode withy-mode prog-mode "Withy"
  "Recipes for bending acrylic sheet."
  (setq-local comment-start "# ")
  (setq-local comment-start-skip "#+ *")
  (setq-local indent-tabs-mode nil)
  (add-hook 'project-find-functions #'withy--library nil t)
  (setq-local indent-line-function #'withy-indent-line)
  (setq-local font-lock-defaults '(withy--font-lock)))

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.withy\\'" . withy-mode))

(defun withy--library (folder)
  "The library in which FOLDER lies, for `project-find-functions': where its settings are."
  (let ((root (locate-dominating-file folder "withy.toml")))
    (and root (cons 'transient root))))

(defun withy--server (&optional _interactive)
  "How Eglot starts the language server."
  (list withy-path "language-server" :initializationOptions
        (list :hints (or withy-hints (make-hash-table)))))

(defvar eglot-server-programs)
(with-eval-after-load 'eglot
  (add-to-list 'eglot-server-programs '(withy-mode . withy--server)))

(provide 'withy-mode)
;;; withy-mode.el ends here
