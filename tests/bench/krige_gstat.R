# Rscript krige_gstat.R FOLDER: the work of bench_krige by gstat, on the points that bench_krige FOLDER wrote.
# Global kriging is timed on a hundredth of the cells (a tenth for the small set) and scaled: its cost is linear in cells.
suppressMessages({library(sp); library(gstat)})
folder <- commandArgs(TRUE)[1]
points <- function(n) { d <- read.csv(file.path(folder, sprintf("points_%d.csv", n))); coordinates(d) <- ~x+y; d }
cells <- function(columns, rows) { g <- expand.grid(x = (seq_len(columns) - 0.5) * 1000 / columns,
  y = (seq_len(rows) - 0.5) * 1000 / columns); coordinates(g) <- ~x+y; g }
model <- vgm(0.5, "Exp", 150, 0.05)
time <- function(name, scale, e) { t <- system.time(invisible(capture.output(e)))
  cat(sprintf("%-58s %9.3f %9.3f\n", name, scale * t[["elapsed"]], scale * (t[["user.self"]] + t[["sys.self"]]))) }
cat(sprintf("%-58s %9s %9s\n", "gstat", "wall s", "cpu s"))
p <- points(155); g <- cells(395, 253)
time("n=155, 1e6 cells with variance", 1e6 / (395 * 253), krige(z~1, p, g, model, debug.level = 0))
p <- points(1000); g <- cells(112, 89)
time("n=1,000, 1e5 cells with variance", 1e5 / (112 * 89), krige(z~1, p, g, model, debug.level = 0))
p <- points(3000); g <- cells(25, 20)
time("n=3,000, 1e5 cells with variance", 1e5 / 500, krige(z~1, p, g, model, debug.level = 0))
p <- points(10000); g <- cells(353, 283)
time("n=10,000, 32 nearest, 1e5 cells with variance", 1, krige(z~1, p, g, model, nmax = 32, debug.level = 0))
time("variogram of 10,000 points", 1, variogram(z~1, p, cutoff = 2000, width = 2000 / 15))
p <- points(1000)
time("leave-one-out of 1,000 points", 1, krige.cv(z~1, p, model, debug.level = 0, verbose = FALSE))
