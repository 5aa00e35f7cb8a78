# Rscript refit_field_table.R write | check: the simulated tables for refit_field_table.sh, and what R's glm says about
# them.
terms <- list(  # as the program names them, and as the table does
  "cultivar-and-residue" = c(), "warm-wet-hours" = c(warm_wet_hours = "TRH9010"),
  "warm-then-wet-hours" = c(warm_hours_times_warm_wet_hours = "INT3"),
  "humidity-before-flowering" = c(relative_humidity_pct = "RH7"),
  "humidity-around-flowering" = c(relative_humidity_pct = "RH.A.3"),
  "dew-point-depression" = c(dew_point_depression_degc = "TDD.A.6"),
  "dew-point-depression-after-flowering" = c(dew_point_depression_degc = "TDD.A.3"),
  "humid-days" = c(humid_days = "RH.G70.CD.3", temperature_degc = "T.A.2"))
# What the simulated fields obey: dew-point depression around flowering.
truth <- c("(Intercept)" = 1.9, resistVS = 0.7, resistMS = -0.5, resistMR = -1.1, wcwwc = 0.8, wcsw = 0.1,
           TDD.A.6 = -0.5)

if (commandArgs(TRUE)[1] == "write") {
  n <- 999
  RNGversion("4.0.0"); set.seed(20260610)
  type <- ifelse(runif(n) < 0.3, "spring", "winter")
  corn <- ifelse(runif(n) < 0.25, 1L, 0L)
  corn[type == "spring" & runif(n) < 0.02] <- NA  # of spring wheat the residue is not asked
  d <- data.frame(id = seq_len(n), year = sample(2001:2006, n, TRUE), type = type,
                  resist = sample(c("VS", "S", "MS", "MR"), n, TRUE, c(0.15, 0.45, 0.25, 0.15)), corn = corn)
  humidity <- rnorm(n, 70, 6)
  d$RH.A.3 <- humidity
  d$RH7 <- humidity + rnorm(n, 0, 4)
  d$TDD.A.6 <- 6.2 - 0.24 * (humidity - 70) + rnorm(n, 0, 0.5)
  d$TDD.A.3 <- d$TDD.A.6 + rnorm(n, 0, 1)
  d$RH.G70.CD.3 <- rbinom(n, 26, plogis((humidity - 70) / 5))
  d$T.A.2 <- rnorm(n, 16, 3)
  d$TRH9010 <- rbinom(n, 264, plogis((humidity - 90) / 8))
  d$INT3 <- rbinom(n, 192, 0.5) * d$TRH9010
  wc <- ifelse(type == "spring", "sw", ifelse(corn == 1, "wwc", "wwnoc"))
  chance <- plogis(truth[["(Intercept)"]] + ifelse(d$resist == "S", 0, truth[paste0("resist", d$resist)]) +
                   ifelse(wc == "wwnoc", 0, truth[paste0("wc", wc)]) + truth[["TDD.A.6"]] * d$TDD.A.6)
  # As many as the real table has: the constant is moved until so many are to be expected, then drawn until they come.
  move <- uniroot(function(by) sum(plogis(qlogis(chance) + by)) - 273, c(-5, 5))$root
  repeat {
    ill <- runif(n) < plogis(qlogis(chance) + move)
    if (sum(ill) == 273) break
  }
  d$S <- ifelse(ill, 10 + 60 * runif(n) ^ 2, 9.99 * runif(n))
  d$S[which(ill)[1]] <- 10     # at least 10 % is an epidemic
  d$S[which(!ill)[1]] <- 9.99  # and less is none
  save <- function(d, file) write.csv(d, file, row.names = FALSE)
  save(d, "fields.csv")
  renamed <- d
  names(renamed)[match(c("S", "RH.G70.CD.3"), names(d))] <- c("severity_pct", "humid")
  renamed$wc <- wc
  save(renamed[, !names(renamed) %in% c("type", "corn")], "renamed.csv")
  save(d[-1, ], "short.csv")
  healthy <- d; healthy$S[which(ill)[1]] <- 9.99; save(healthy, "healthy.csv")
  resistant <- d; resistant$resist[3] <- "R"; save(resistant, "resistant.csv")
  gap <- d; gap$TDD.A.6[c(5, 9)] <- NA; save(gap, "gap.csv")
  writeLines(chartr(",", ";", readLines("fields.csv")), "semicolons.csv")
  writeLines(sprintf("%.17g", move), "move.txt")
  quit(status = 0)
}

failed <- 0
check <- function(what, good) if (!isTRUE(good)) { cat(what, "FAILED\n"); failed <<- failed + 1 }
d <- read.csv("fields.csv")
d$y <- d$S >= 10
d$resist <- relevel(factor(d$resist), "S")
d$wc <- relevel(factor(ifelse(d$type == "spring", "sw", ifelse(d$corn == 1, "wwc", "wwnoc"))), "wwnoc")
here <- c(intercept = "(Intercept)", very_susceptible = "resistVS", moderately_susceptible = "resistMS",
          moderately_resistant = "resistMR", winter_with_maize_residue = "wcwwc", spring = "wcsw")

# What the study printed: a line a number, below the line with the model's name.
said <- readLines("shipped.txt")
of_model <- cumsum(said %in% names(terms))
check("the study prints each model once", identical(said[said %in% names(terms)], names(terms)))
printed <- function(model, key) {
  line <- grep(paste0("^  ", key, " "), said[of_model == match(model, names(terms))], value = TRUE)
  check(paste(model, key, "has one line"), length(line) == 1)
  as.numeric(grep("^[-+.0-9e]+$", strsplit(sub(paste0("^  ", key), "", line), " +")[[1]], value = TRUE))
}
cards <- lapply(names(terms), function(model) {
  names_here <- c(here, terms[[model]])
  formula <- reformulate(c("resist", "wc", unname(terms[[model]])), "y")
  fit <- glm(formula, binomial, d)
  table <- summary(fit)$coefficients[names_here, ]
  for (key in names(names_here)) {
    got <- printed(model, key)
    want <- table[names_here[[key]], ]
    check(paste(model, key, "is glm's"), abs(got[1] - want[1]) <= 1e-6 * abs(want[1]))
    check(paste(model, key, "has glm's standard error"), abs(got[2] - want[2]) <= 0.0051 * want[2])
    check(paste(model, key, "says the difference"), abs(got[1] - got[3] - got[4]) <= 0.051 * abs(got[4]) + 1e-5)
  }
  chance <- numeric(nrow(d))
  for (year in unique(d$year)) {
    rows <- d$year == year
    chance[rows] <- predict(glm(formula, binomial, d[!rows, ]), d[rows, ], type = "response")
  }
  pairs <- outer(chance[d$y], chance[!d$y], "-")
  auc <- mean((pairs > 0) + (pairs == 0) / 2)
  brier <- mean((chance - d$y) ^ 2)
  check(paste(model, "AUC"), abs(printed(model, "AUC leaving one year out")[1] - auc) <= 5.1e-6)
  check(paste(model, "Brier"), abs(printed(model, "Brier leaving one year out")[1] - brier) <= 5.1e-6)
  if (model == "dew-point-depression") {
    # The fit finds what the fields obey.
    known <- truth
    known["(Intercept)"] <- known["(Intercept)"] + as.numeric(readLines("move.txt"))
    far <- abs(table[, 1] - known[rownames(table)]) / table[, 2]
    check("the coefficients that the fields obey are found within four standard errors", max(far) < 4)
  }
  # As shipped numbers are written: seven digits, of classes seven decimals at most.
  decimals <- 6 - floor(log10(abs(table[, 1])))
  decimals[here] <- pmin(decimals[here], 7)
  written <- round(table[, 1], decimals)
  list(model = model, coefficients = setNames(written, names(names_here)), auc = round(auc, 3), brier = round(brier, 4))
})
save_cards <- function(cards, file) {
  text <- vapply(cards, function(card) {
    sprintf('{"model": "%s", "model_label": "refit by this project from \\"here\\" \u00b1 0", "coefficients": {%s},
              "skill": {"auc": %.10g, "brier": %.10g, "other": null}}', card$model,
            paste0('"', names(card$coefficients), '": ', sprintf("%.10g", card$coefficients), collapse = ", "),
            card$auc, card$brier)
  }, "")
  another <- '{"model": "another", "model_label": "published equation", "coefficients": null, "weather": [{}, []]}'
  text <- paste0('{"models": [', paste(c(another, text), collapse = ",\n"), "]}")
  writeLines(enc2utf8(text), file, useBytes = TRUE)
}
save_cards(cards, "agreed.json")
depression <- match("dew-point-depression", names(terms))
off <- cards
off[[depression]]$coefficients["spring"] <- off[[depression]]$coefficients["spring"] + 1e-7
save_cards(off, "off.json")
off <- cards
off[[length(cards)]]$brier <- off[[length(cards)]]$brier + 1e-4
save_cards(off, "off_skill.json")
quit(status = if (failed > 0) 1 else 0)
