# Rscript tests/bench/refit_field_table.R TABLE.csv: makes the project's own refits anew from the table that they were
# made from, and holds what comes out against what the program ships. It downloads nothing: the table, 999 wheat fields
# of 17 states of the USA, is at Dryad, doi 10.5061/dryad.fn2z34trv, and whoever runs this brings it. Needs R alone.
#
#   --column ROLE=NAME   the table calls this column otherwise; may be given again (roles: see `columns` below)
#   --program PATH       the program that is asked for what it ships; otherwise build/lodicule beside the tests
#   --models FILE        instead of a program: what its `risk --models --json` printed
#
# Ends with 0 where each number comes out as shipped, to the digits it is written with; with 1 where one does not; with
# 2 where the table or the program cannot be judged.

# The columns: role, and the name that is looked for (of several, c("this", "that"), the one that is there). The names are
# those of the table's authors, and of the weather they and the windows (days around flowering, both ends included) stand
# in the list of variables published with Shah et al. (2023), PHYTO-10-22-0380-R. That the file at Dryad has the same is
# known from a description of it, not from the file; where it has others, the script names the one it lacks.
columns <- list(
  severity = "S",                           # mean share of diseased spikelets, %
  year = "year",
  resistance = "resist",                    # VS, S, MS, MR
  group = "wc",                             # sw, wwc, wwnoc; where it is missing it is made from the next two
  type = "type",                            # spring, winter
  residue = "corn",                         # 1 where there is maize residue, 0 where there is none
  warm_wet_hours = "TRH9010",               # hours of 15 to 30 degC and at least 90 %, days 0 to 10
  warm_times_wet_hours = "INT3",            # those times the hours of 15 to 30 degC of days -7 to 0
  humidity_before = "RH7",                  # mean relative humidity, days -7 to 0
  humidity_around = "RH.A.3",               # mean relative humidity, days -10 to 10
  depression_around = "TDD.A.6",            # mean of temperature less dew point, days -10 to 10
  depression_after = "TDD.A.3",             # mean of temperature less dew point, days 0 to 10
  humid_days = "RH.G70.CD.3",               # days with a mean humidity over 70 %, days -15 to 10
  temperature_before = "T.A.2")             # mean temperature, days -20 to -10

# The refits: each of the program's names for a coefficient of the weather, and the column that it multiplies. All of
# them have the classes too.
refits <- list(
  "cultivar-and-residue" = character(0),
  "warm-wet-hours" = c(warm_wet_hours = "warm_wet_hours"),
  "warm-then-wet-hours" = c(warm_hours_times_warm_wet_hours = "warm_times_wet_hours"),
  "humidity-before-flowering" = c(relative_humidity_pct = "humidity_before"),
  "humidity-around-flowering" = c(relative_humidity_pct = "humidity_around"),
  "dew-point-depression" = c(dew_point_depression_degc = "depression_around"),
  "dew-point-depression-after-flowering" = c(dew_point_depression_degc = "depression_after"),
  "humid-days" = c(humid_days = "humid_days", temperature_degc = "temperature_before"))
fields <- 999
epidemics <- 273
epidemic_pct <- 10  # a severity of at least this is an epidemic
refit_label <- "refit by this project"

give_up <- function(...) {
  cat("refit_field_table: ", ..., "\n", sep = "", file = stderr())
  quit(save = "no", status = 2)
}
options(error = quote(quit(save = "no", status = 2)))  # what nobody thought of is no difference either

# Options -------------------------------------------------------------------------------------------------------------
this_file <- sub("^--file=", "", grep("^--file=", commandArgs(FALSE), value = TRUE)[1])
program <- file.path(dirname(this_file), "..", "..", "build", "lodicule")
models_file <- NULL
table_file <- NULL
words <- commandArgs(TRUE)
usage <- "Rscript tests/bench/refit_field_table.R TABLE.csv [--column ROLE=NAME]... [--program PATH | --models FILE]"
while (length(words) > 0) {
  word <- words[1]
  if (word %in% c("--column", "--program", "--models")) {
    if (length(words) < 2) give_up(word, " wants a word after it: ", usage)
    value <- words[2]
    if (word == "--program") program <- value
    if (word == "--models") models_file <- value
    if (word == "--column") {
      role <- sub("=.*", "", value)
      if (!grepl("=.", value) || !role %in% names(columns))
        give_up("--column ", value, " is no ROLE=NAME; the roles are ", paste(names(columns), collapse = ", "))
      columns[[role]] <- sub("^[^=]*=", "", value)
    }
    words <- words[-(1:2)]
  } else {
    if (grepl("^-", word) || !is.null(table_file)) give_up("\"", word, "\" is not understood: ", usage)
    table_file <- word
    words <- words[-1]
  }
}
if (is.null(table_file)) give_up("no table is named: ", usage)
if (!file.exists(table_file)) give_up("there is no file ", table_file)

# The table -----------------------------------------------------------------------------------------------------------
given <- tryCatch(
  read.csv(table_file, check.names = FALSE, stringsAsFactors = FALSE, strip.white = TRUE, na.strings = c("NA", "")),
  error = function(e) give_up(table_file, " cannot be read as a table with commas: ", conditionMessage(e)))
if (ncol(given) < 2) give_up(table_file, " has a single column; the columns of a table stand between commas")
names(given) <- sub("^\xef\xbb\xbf", "", names(given), useBytes = TRUE)  # the mark that some spreadsheets begin with
find_column <- function(role) {
  here <- which(names(given) %in% columns[[role]])
  if (length(here) > 1) give_up("the table has the column \"", names(given)[here[1]], "\" ", length(here), " times")
  if (length(here) == 1) here else NA
}
rows_in_words <- function(bad) {  # as a person counts them below the head line
  rows <- which(bad)
  paste0(if (length(rows) == 1) "row " else "rows ", paste(head(rows, 5), collapse = ", "),
         if (length(rows) > 5) paste0(" and ", length(rows) - 5, " more") else "")
}
no_group <- is.na(find_column("group"))
# A group that was asked for by name is not made from others.
if (no_group && columns$group != "wc") give_up("the table has no column \"", columns$group, "\" for group")
roles <- setdiff(names(columns), if (no_group) "group" else c("type", "residue"))
lacking <- roles[vapply(roles, function(role) is.na(find_column(role)), TRUE)]
if (length(lacking) > 0) {
  give_up("the table lacks ", if (length(lacking) == 1) "a column" else "columns", " for ",
          paste0(lacking, " (looked for \"", columns[lacking], "\")", collapse = ", "),
          "; where it has another name, say so: --column ", lacking[1], "=NAME")
}
column <- function(role) given[[find_column(role)]]
number <- function(role) {
  values <- column(role)
  if (!is.numeric(values)) give_up("the column \"", columns[[role]], "\" for ", role, " holds words, not numbers")
  if (any(is.na(values))) {
    give_up("the column \"", columns[[role]], "\" for ", role, " is empty in ", rows_in_words(is.na(values)),
            "; the refits were made from all rows")
  }
  values
}
class_of <- function(role, levels) {
  values <- column(role)
  if (any(bad <- !values %in% levels)) {
    give_up("the column \"", columns[[role]], "\" for ", role, " holds \"", values[bad][1], "\" in ",
            rows_in_words(bad), "; it knows ", paste(levels, collapse = ", "))
  }
  values
}
if (nrow(given) != fields)
  give_up("the table has ", nrow(given), " rows; the refits were made from ", fields,
          " fields, so this is another table")
severity_pct <- number("severity")
diseased <- as.numeric(severity_pct >= epidemic_pct)
if (sum(diseased) != epidemics) {
  give_up(sum(diseased), " fields have a severity (column \"", columns$severity, "\") of at least ", epidemic_pct,
          " %; the refits were made from ", epidemics, " such epidemics, so this is another table or another column")
}
year <- number("year")
resistance <- class_of("resistance", c("VS", "S", "MS", "MR"))
group <- if (!no_group) class_of("group", c("sw", "wwc", "wwnoc")) else {
  type <- class_of("type", c("spring", "winter"))
  residue <- column("residue")
  unknown <- type == "winter" & !residue %in% c(0, 1)
  if (any(unknown)) {
    give_up("the column \"", columns$residue, "\" for residue is neither 0 nor 1 in ", rows_in_words(unknown),
            ", which are winter wheat")
  }
  ifelse(type == "spring", "sw", ifelse(residue %in% 1, "wwc", "wwnoc"))
}
classes <- cbind(intercept = 1,
                 very_susceptible = resistance == "VS",
                 moderately_susceptible = resistance == "MS",
                 moderately_resistant = resistance == "MR",
                 winter_with_maize_residue = group == "wwc",
                 spring = group == "sw")
measured <- vapply(setNames(nm = unlist(refits, use.names = FALSE)), number, numeric(fields))

# What the program ships ----------------------------------------------------------------------------------------------
# JSON with base R: lists, and names where it has names.
read_json <- function(text) {
  tokens <- regmatches(text, gregexpr('"(\\\\.|[^"\\\\])*"|-?[0-9][-+.0-9eE]*|true|false|null|[][{}:,]', text))[[1]]
  at <- 1
  take <- function() { at <<- at + 1; tokens[at - 1] }
  value <- function() {
    token <- take()
    if (is.na(token)) stop("it ends too early")
    first <- substr(token, 1, 1)
    if (first == "{" || first == "[") {
      out <- list()
      shut <- if (first == "{") "}" else "]"
      while (!identical(tokens[at], shut)) {
        if (tokens[at] == ",") take()
        name <- NULL
        if (first == "{") {
          name <- substring(token <- take(), 2, nchar(token) - 1)
          if (take() != ":") stop("a name without a value")
        }
        out <- c(out, setNames(list(value()), name))
      }
      take()
      return(out)
    }
    if (first == "\"") return(substring(token, 2, nchar(token) - 1))
    switch(token, true = TRUE, false = FALSE, null = NULL, as.numeric(token))
  }
  value()
}
if (is.null(models_file)) {
  if (!file.exists(program)) give_up("there is no program ", program, "; build it, or name it: --program PATH")
  said <- suppressWarnings(system2(program, c("risk", "--models", "--json"), stdout = TRUE))
  if (!is.null(attr(said, "status"))) give_up(program, " risk --models --json ends with ", attr(said, "status"))
} else {
  if (!file.exists(models_file)) give_up("there is no file ", models_file)
  said <- readLines(models_file, warn = FALSE, encoding = "UTF-8")
}
# The same in every locale; no name that counts has more than ASCII.
said <- iconv(paste(said, collapse = "\n"), "UTF-8", "ASCII", sub = "?")
shipped <- tryCatch(read_json(said)$models,
                    error = function(e) give_up("the list of models is no JSON: ", conditionMessage(e)))
names(shipped) <- vapply(shipped, function(card) card$model, "")
ours <- names(shipped)[vapply(shipped, function(card) grepl(refit_label, card$model_label, fixed = TRUE), TRUE)]
if (!setequal(ours, names(refits))) {
  give_up("the program's refits are not those of this script: ",
          paste(c(setdiff(ours, names(refits)), setdiff(names(refits), ours)), collapse = ", "),
          " stands on one side alone")
}

# The fits ------------------------------------------------------------------------------------------------------------
# Ordinary logistic regression as glm does it, with the settings it has: the shipped numbers were printed from these.
fit_of <- function(design, rows, name) {
  fit <- suppressWarnings(glm.fit(design[rows, , drop = FALSE], diseased[rows], family = binomial()))
  if (!fit$converged || any(is.na(fit$coefficients)))
    give_up("the logistic regression of ", name, " has no answer on this table")
  fit
}
standard_errors <- function(fit) {
  unscaled <- chol2inv(fit$qr$qr[seq_len(fit$rank), seq_len(fit$rank), drop = FALSE])
  out <- numeric(fit$rank)
  out[fit$qr$pivot[seq_len(fit$rank)]] <- sqrt(diag(unscaled))
  out
}
chance_without_its_year <- function(design, name) {
  chance <- numeric(nrow(design))
  for (left_out in unique(year)) {
    rows <- year == left_out
    fit <- fit_of(design, !rows, paste0(name, " without ", left_out))
    chance[rows] <- plogis(drop(design[rows, , drop = FALSE] %*% fit$coefficients))
  }
  chance
}
auc_of <- function(chance) {  # of all pairs of a diseased and a healthy field, whatever their years; a tie counts half
  ill <- diseased == 1
  (sum(rank(chance)[ill]) - sum(ill) * (sum(ill) + 1) / 2) / (sum(ill) * sum(!ill))
}
# R prints seven significant digits; the shipped classes and intercepts have seven decimals at most. Half of the last.
rounding_of <- function(value, name) {
  last <- 10 ^ (floor(log10(abs(value))) - 6)
  0.5 * if (name %in% colnames(classes)) max(last, 1e-7) else last
}

others <- character(0)  # what does not come out as shipped
compared <- differ <- 0
line <- function(name, here, error, there, difference, differs) {
  cat(sprintf("  %-33s %13s %11s %13s %11s%s\n", name, here, error, there, difference,
              if (differs) "  DIFFERS" else ""))
}
for (name in names(refits)) {
  card <- shipped[[name]]
  weather <- refits[[name]]
  design <- cbind(classes, measured[, weather, drop = FALSE])
  colnames(design) <- c(colnames(classes), names(weather))
  there <- unlist(card$coefficients)
  if (!setequal(names(there), colnames(design))) {
    give_up("the program's coefficients of ", name, " are ", if (is.null(there)) "not said" else
            paste(names(there), collapse = ", "), "; this script fits ", paste(colnames(design), collapse = ", "))
  }
  fit <- fit_of(design, rep(TRUE, fields), name)
  errors <- standard_errors(fit)
  differing <- character(0)
  cat(name, "\n", sep = "")
  line("", "here", "s.e.", "shipped", "difference", FALSE)
  for (i in seq_along(fit$coefficients)) {
    key <- colnames(design)[i]
    here <- fit$coefficients[[i]]
    difference <- here - there[[key]]
    # A rounding of the difference itself is no difference.
    differs <- abs(difference) > rounding_of(there[[key]], key) * (1 + 1e-6)
    line(key, sprintf("%.7g", here), sprintf("%.3g", errors[i]), sprintf("%.7g", there[[key]]),
         sprintf("%+.1e", difference), differs)
    if (differs) differing <- c(differing, key)
  }
  chance <- chance_without_its_year(design, name)
  skill <- c("AUC" = auc_of(chance), "Brier" = mean((chance - diseased) ^ 2))
  digits <- c("AUC" = 3, "Brier" = 4)  # as the program ships them
  for (figure in names(skill)) {
    written <- card$skill[[tolower(figure)]]
    difference <- skill[[figure]] - written
    differs <- abs(difference) > 0.5 * 10 ^ -digits[[figure]] * (1 + 1e-6)
    line(paste(figure, "leaving one year out"), sprintf("%.5f", skill[[figure]]), "",
         sprintf("%.*f", digits[[figure]], written), sprintf("%+.1e", difference), differs)
    if (differs) differing <- c(differing, figure)
  }
  numbers <- ncol(design) + length(skill)
  compared <- compared + numbers
  differ <- differ + length(differing)
  if (length(differing) > 0) {
    which_of <- if (length(differing) == numbers) paste("all", numbers) else paste(differing, collapse = ", ")
    others <- c(others, paste0(name, " (", which_of, ")"))
  }
}
if (differ > 0) {
  cat(strwrap(paste0(differ, " of ", compared, " numbers do not come out as shipped: ", paste(others, collapse = "; "),
                     ". The shipped refits are not those of this table."), 100), sep = "\n")
  quit(save = "no", status = 1)
}
cat("All ", compared, " numbers of ", length(refits),
    " refits come out as shipped, to the digits they are written with.\n", sep = "")
