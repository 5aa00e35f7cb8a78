# Rscript restricted_gls.R write | compare TEST.cpp: the data for restricted_gls.sh, and what nlme::gls says about them.
suppressMessages({library(nlme); library(sp)})
data(meuse); data(Wheat2)
varieties <- model.matrix(~ variety, data.frame(variety = factor(as.character(Wheat2$variety))))
m <- data.frame(x = meuse$x, y = meuse$y, z = log(meuse$zinc), d = sqrt(meuse$dist))
if (commandArgs(TRUE)[1] == "write") {
    number <- function(v) sprintf("%.17g", v)
    write.csv(data.frame(x = m$x, y = m$y, log_zinc = number(m$z), root_dist = number(m$d)), "meuse.csv",
              row.names = FALSE, quote = FALSE)
    columns <- varieties[, -1]
    colnames(columns) <- paste0("v", 2:56)
    write.csv(data.frame(x = Wheat2$longitude, y = Wheat2$latitude, yield = Wheat2$yield, columns), "wheat.csv",
              row.names = FALSE, quote = FALSE)
    quit(status = 0)
}
failed <- 0
check <- function(what, found, expected, tolerance) {
    apart <- max(abs(found - expected))
    good <- is.finite(apart) && apart <= tolerance
    cat(sprintf("%-46s %14.8f, R %14.8f, %9.2g apart (at most %g)%s\n", what, found, expected, apart, tolerance,
                if (good) "" else " FAILED"))
    if (!good) failed <<- failed + 1
}
control <- glsControl(msTol = 1e-14, tolerance = 1e-12, msMaxIter = 500)
# Variance of each place alone, variance that near ones share, range, log likelihood.
numbers <- function(fit) {
    law <- coef(fit$modelStruct$corStruct, unconstrained = FALSE)
    alone <- if ("nugget" %in% names(law)) law[["nugget"]] else 0
    c(alone = fit$sigma^2 * alone, shared = fit$sigma^2 * (1 - alone), range_m = law[["range"]],
      log_likelihood = as.numeric(logLik(fit)))
}
meuse_gls <- numbers(gls(z ~ d, m, corExp(c(200, 0.3), form = ~ x + y, nugget = TRUE), control = control))
elsewhere <- gls(z ~ d, m, corExp(c(300, 0.2), form = ~ x + y, nugget = TRUE, fixed = TRUE),
                 control = glsControl(sigma = 0.6))
test <- readLines(commandArgs(TRUE)[2])
demanded <- function(what) as.numeric(sub(".*= *(-?[0-9.]+);.*", "\\1", grep(paste0("double gls_", what, " ="), test, value = TRUE)[1]))
for (name in names(meuse_gls))
    check(paste("region of the Meuse, the test's", name), demanded(name), meuse_gls[[name]], 2e-8 * max(1, abs(meuse_gls[[name]])))
check("region of the Meuse, elsewhere", demanded("elsewhere"), as.numeric(logLik(elsewhere)), 1e-8)

# The little of JSON that is needed.
of_fit <- function(file, key) {
    fit <- sub(".*\"fit\": \\{", "", paste(readLines(file), collapse = " "))
    as.numeric(sub(paste0(".*\"", key, "\": *([-+0-9.eE]+).*"), "\\1", fit))
}
# gls leaves out log|X'X| / 2, with which a restricted likelihood is a density of the values.
against <- function(what, file, gls_says, x) {
    check(paste(what, "log likelihood"), of_fit(file, "objective"),
          gls_says[["log_likelihood"]] + as.numeric(determinant(crossprod(x))$modulus) / 2, 1e-8)
    check(paste(what, "nugget, share of R's sill"), of_fit(file, "nugget") / sum(gls_says[1:2]),
          gls_says[["alone"]] / sum(gls_says[1:2]), 1e-5)
    check(paste(what, "sill, share of R's"), of_fit(file, "partial_sill") / gls_says[["shared"]], 1, 1e-5)
    check(paste(what, "range, share of R's"), of_fit(file, "range") / gls_says[["range_m"]], 1, 1e-5)
}
against("variogram of the Meuse:", "meuse.json", meuse_gls, cbind(1, m$d))
wheat_gls <- numbers(gls(yield ~ variety - 1, Wheat2, corExp(10, form = ~ latitude + longitude), control = control))
against("variogram of the wheat:", "wheat.json", wheat_gls, varieties)
quit(status = if (failed > 0) 1 else 0)
