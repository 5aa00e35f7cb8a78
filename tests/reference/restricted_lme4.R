# Rscript restricted_lme4.R TEST.cpp: whether its lme4 data and numbers are those of R (restricted_lme4.sh).
suppressMessages(library(lme4))
test <- readLines(commandArgs(TRUE)[1])
failed <- 0
check <- function(what, found, expected, tolerance) {
    apart <- max(abs(found - expected))
    good <- length(found) == length(expected) && is.finite(apart) && apart <= tolerance
    cat(sprintf("%-40s %9.2g apart (at most %g)%s\n", what, apart, tolerance, if (good) "" else " FAILED"))
    if (!good) failed <<- failed + 1
}
number <- function(name)
    as.numeric(sub(".*= *(-?[0-9.]+);.*", "\\1", grep(paste0("double ", name, " ="), test, value = TRUE)[1]))
values <- function(name) {
    from <- grep(paste0("constexpr .* ", name, "\\["), test)[1]
    to <- from - 1 + grep(";", test[from:length(test)])[1]
    text <- sub("^[^=]*=", "", paste(test[from:to], collapse = " "))
    as.numeric(regmatches(text, gregexpr("-?[0-9]+(\\.[0-9]+)?", text))[[1]])
}
check("Penicillin, diameters", values("penicillin"), Penicillin$diameter, 0)
check("Dyestuff2, yields", values("dyestuff2"), Dyestuff2$Yield, 0)
control <- lmerControl(optimizer = "bobyqa", optCtrl = list(rhoend = 1e-12, maxfun = 1e5),
                       check.conv.singular = "ignore")
fit <- lmer(diameter ~ 1 + (1 | plate) + (1 | sample), Penicillin, control = control)
law <- as.data.frame(VarCorr(fit))$vcov
check("Penicillin, plates", number("lmer_plate"), law[1], 1e-6)
check("Penicillin, samples", number("lmer_sample"), law[2], 1e-5)
check("Penicillin, residual", number("lmer_residual"), law[3], 1e-6)
check("Penicillin, log likelihood", number("lmer_log_likelihood"), as.numeric(logLik(fit)), 1e-8)
fit <- lmer(Yield ~ 1 + (1 | Batch), Dyestuff2, control = control)
law <- as.data.frame(VarCorr(fit))$vcov
check("Dyestuff2, batches", 0, law[1], 0)
check("Dyestuff2, residual", number("lmer_residual_alone"), law[2], 1e-6)
check("Dyestuff2, log likelihood", number("lmer_log_likelihood_alone"), as.numeric(logLik(fit)), 1e-6)
quit(status = if (failed > 0) 1 else 0)
