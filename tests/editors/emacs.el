;;; emacs.el --- What a person does in Emacs, in a library of their own  -*- lexical-binding: t -*-

;; Ends with an error at the first thing that does not come out.

(require 'cl-lib)
(require 'eglot)
(require 'flymake)

(defun try-wait (what get)
  "Wait until GET gives something, which is returned; WHAT it is stands in the message."
  (let ((end (+ (float-time) 20)) value)
    (while (not (setq value (funcall get)))
      (when (> (float-time) end) (error "Waited in vain for %s" what))
      (accept-process-output nil 0.05))
    value))

(defvar try-library default-directory)

(defun try-open (path)
  (find-file (expand-file-name path try-library))
  (unless (eq major-mode 'withy-mode) (error "The mode is %s" major-mode))
  ;; In a batch there is no idle moment in which Eglot would start by itself.
  (unless (eglot-current-server) (apply #'eglot--connect (eglot--guess-contact)))
  (try-wait "the server" #'eglot-managed-p))

(defun try-replace (old new)
  (goto-char (point-min))
  (search-forward old)
  (replace-match new t t)
  (goto-char (match-beginning 0)))

(defun try-findings ()
  (flymake-start)
  (mapcar #'flymake-diagnostic-text (flymake-diagnostics)))

(defun try-diagnostics ()
  (try-open "recipes/tent_card.withy")
  (try-replace "ambient" "ambeint")
  (eglot--signal-textDocument/didChange)
  (try-wait "the finding"
            (lambda () (cl-some (lambda (text) (string-match-p "no entry of a recipe" text)) (try-findings))))
  (let ((place (cl-find-if (lambda (one) (string-match-p "no entry of a recipe" (flymake-diagnostic-text one)))
                           (flymake-diagnostics))))
    (unless (equal (buffer-substring (flymake-diagnostic-beg place) (flymake-diagnostic-end place)) "ambeint")
      (error "The finding stands at %s" place)))
  (try-replace "ambeint" "ambient")
  (eglot--signal-textDocument/didChange)
  (try-wait "no finding"
            (lambda () (not (cl-some (lambda (text) (string-match-p "no entry" text)) (try-findings))))))

(defun try-hover ()
  (try-open "recipes/tent_card.withy")
  (goto-char (point-min))
  (search-forward "transfer 2.5 s")
  (goto-char (match-beginning 0))
  (let* ((answer (jsonrpc-request (eglot--current-server-or-lose) :textDocument/hover
                                  (eglot--TextDocumentPositionParams)))
         (text (eglot--hover-info (plist-get answer :contents) (plist-get answer :range))))
    (unless (string-match-p "heater off to bend finished" text) (error "The hover says %s" text))))

(defun try-format ()
  (try-open "parts/riser.withy")
  (let ((right (buffer-string)))
    (goto-char (point-min))
    (while (re-search-forward "^  +" nil t) (replace-match "       "))
    (when (equal (buffer-string) right) (error "Nothing was spoilt"))
    (eglot-format-buffer)
    (unless (equal (buffer-string) right) (error "The buffer is now %s" (buffer-string)))
    (save-buffer)))

(defun try-colours ()
  (find-file (expand-file-name "bench/west.withy" try-library))
  (font-lock-ensure)
  (dolist (pair '(("^\\(heater\\) front" . font-lock-keyword-face) ("^heater \\(front\\)" . font-lock-type-face)
                  ("^  \\(length\\)" . font-lock-variable-name-face) ("^  length [0-9]+ \\(mm\\)" . font-lock-builtin-face)
                  ("\\(#\\)" . font-lock-comment-delimiter-face)))
    (goto-char (point-min))
    (re-search-forward (car pair))
    (let ((face (get-text-property (match-beginning 1) 'face)))
      (unless (memq (cdr pair) (if (listp face) face (list face)))
        (error "%s has the face %s" (car pair) face))))
  ;; Indentation leaves a file as it is that is indented well.
  (let ((right (buffer-string)))
    (let ((inhibit-message t)) (indent-region (point-min) (point-max)))
    (unless (equal (buffer-string) right) (error "The indentation changes a file in the right style"))))

(dolist (step (split-string (getenv "STEPS")))
  (funcall (intern (concat "try-" step)))
  (princ (format "ok %s\n" step)))
;;; emacs.el ends here
