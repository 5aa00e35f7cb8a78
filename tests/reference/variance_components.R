# Run by variance_components.sh with the test's source as argument.
suppressMessages(library(lme4))
test <- readLines(commandArgs(TRUE)[1])
data(Pastes, package = "lme4")

# -2 ln of the restricted likelihood for variances of batch, sample and residual, with dense matrices.
criterion <- function(variances, y, X, Z) {
    R <- chol(variances[1] * tcrossprod(Z[[1]]) + variances[2] * tcrossprod(Z[[2]]) + variances[3] * diag(length(y)))
    decomposed <- qr(backsolve(R, X, transpose = TRUE))
    residual <- qr.resid(decomposed, backsolve(R, y, transpose = TRUE))
    2 * sum(log(diag(R))) + 2 * sum(log(abs(diag(qr.R(decomposed))))) + sum(residual^2) +
        (length(y) - ncol(X)) * log(2 * pi)
}

# Ends of the 90 % interval of variance k: the others at their best.
ends <- function(k, fitted, y, X, Z) {
    best <- function(value) {
        at <- function(sd) { v <- fitted; v[-k] <- sd^2; v[k] <- value; criterion(v, y, X, Z) }
        found <- list(par = pmax(sqrt(fitted[-k]), 0.1))
        for (restart in 1:3) found <- optim(found$par, at, control = list(reltol = 1e-15, maxit = 5000))
        found$value
    }
    over_cut <- function(value) best(value) - criterion(fitted, y, X, Z) - qchisq(0.9, 1)
    least <- if (k == 3) 1e-9 else 0
    low <- if (over_cut(least) <= 0) 0 else uniroot(over_cut, c(least, fitted[k]), tol = 1e-9)$root
    c(low, uniroot(over_cut, c(fitted[k], 400 * max(fitted[k], 0.1)), tol = 1e-9)$root)
}

bad <- 0
compared <- 0
compare <- function(case, what, found) {
    line <- grep(paste0("CHECK\\(fit\\.", gsub(".", "\\.", what, fixed = TRUE), " =="), case, value = TRUE)
    if (length(line) == 0) return(invisible())
    want <- as.numeric(sub(".*== (Approx\\()?([-0-9.]+).*", "\\2", line[1]))
    cat(sprintf("%-26s R %.8f, test %.8f\n", what, found, want))
    compared <<- compared + 1
    if (!is.finite(want) || abs(found - want) > 2e-5 * max(abs(found), 0.1)) bad <<- bad + 1
}
check <- function(name, data, formula, X) {
    from <- grep(name, test, fixed = TRUE)[1]
    case <- test[from:(from + which(test[from:length(test)] == "}")[1] - 1)]
    fit <- lmer(formula, data, control = lmerControl(optCtrl = list(xtol_abs = 1e-12, ftol_abs = 1e-14)))
    variances <- as.data.frame(VarCorr(fit))
    fitted <- variances$vcov[match(c("batch", "sample", "Residual"), variances$grp)]
    Z <- lapply(list(data$batch, data$sample), function(g) model.matrix(~ 0 + factor(g)))
    compare(case, "reml_criterion", REMLcrit(fit))
    steps <- c("sampling", "preparation", "analysis")
    for (k in 1:3) {
        interval <- ends(k, fitted, data$strength, X, Z)
        compare(case, paste0(steps[k], ".log_variance"), fitted[k])
        compare(case, paste0(steps[k], ".low90"), interval[1])
        compare(case, paste0(steps[k], ".high90"), interval[2])
    }
}
check("variance components of nested duplicates are those of lme4", Pastes, strength ~ 1 + (1 | batch) + (1 | sample),
      matrix(1, nrow(Pastes), 1))
uneven <- Pastes[-c(2, 7, 8, 13, 20, 31, 32, 33, 34, 49, 60), ]
uneven$lot <- ifelse(uneven$batch %in% c("A", "B", "C", "D"), "one", "two")
check("duplicates of several lots and of uneven number have the components of lme4", uneven,
      strength ~ 0 + lot + (1 | batch) + (1 | sample), model.matrix(~ 0 + lot, uneven))
if (compared < 17) cat("only", compared, "numbers of the test were found\n")
quit(status = if (bad > 0 || compared < 17) 1 else 0)
