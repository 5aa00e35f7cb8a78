#pragma once

#include <string>
#include <utility>
#include <vector>

namespace store_tests {

/// One table of each kind, with awkward cells: quotes, separators, long numbers, empty optional cells, user's columns.
inline const std::vector<std::pair<std::string, std::string>>& tables_of_all_kinds() {
    static const std::vector<std::pair<std::string, std::string>> all = {
        {"scouting",
         "field,date,growth_stage,heads,incidence_pct,severity_pct\nFen,2025-06-20,75,200,12.5,3.3333333333333335\n"},
        {"stations",
         "station,longitude_deg,latitude_deg,owner,height m\nDale,9.7,56.1,\"Coop, east\",\n"
         "Hill,9.5,56,Coop,41\n"},
        {"weather",
         "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,dew_point_degc,rain_mm\n"
         "Hill,9.5,56,2025-10-26T02:00:00+02:00,8.1,80,,0\nHill,9.5,56,2025-10-26T02:00:00+01:00,7,82,4.05,\n"},
        {"limits",
         "limit_id,jurisdiction,commodity,purpose,limit_mg_per_kg,basis,from,kind,source\n"
         "buyer,contract,wheat,food,0.75,as_is,2025-01-01,contract,\"contract 12, page \"\"3\"\"\"\n"},
        {"contracts",
         "contract,from_mg_per_kg,commodity,tonnes,limit_id,price_per_t,price_change_per_t\nC1,,wheat,500,buyer,210,\n"
         "C1,0.5,wheat,,buyer,,-10\n"},
        {"costs", "name,value\ntest,9.5\nwrong_acceptance_per_t,100\n"},
        {"kit-lots",
         "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires,signal,curve_a,curve_b,curve_c,curve_d,"
         "signal_sd,shelf\n"
         "K7,wheat,1,0.2,6,2026-01-31,test_over_control,1.5,1.1,0.9,0.123456789012345,0.02,\"2, left\"\n"
         "K8,wheat,1,0.2,6,,test,,,,,,\n"},
        {"calibrators",
         "kit_lot,commodity,dilution,content_mg_per_kg,replicate,signal,signal_sd,strip\n"
         "K8,wheat,1,0,1,1.2000000000000002,,a7\nK8,wheat,1,0,2,1.19,0.02,\n"},
        {"controls", "control,assigned_mg_per_kg,expires\nCM1,1.05,2026-05-01\n"},
        {"loads",
         "load,time,truck,commodity,gross_t,tare_t,status,driver\nL1,2025-08-01T09:00:00+02:00,T3,wheat,38.42,14.1,"
         "probed,\"Bo; Lind\"\nL2,,,,,,,\n"},
        {"load-parts", "load,field,part,zone,share\nL1,Mill Piece,north,,0.4\nL1,Fen,,west,0.6\nL2,,,,\n"},
        {"bins", "bin,capacity_t,purpose,limit_id,opening_mass_t\n1,300,food,eu-food-wheat,12.5\n2,100,hold,,\n"},
        {"samples",
         "sample,stage,kind,field,part,load,longitude_deg,latitude_deg,taken_time,parent,increments,mass_g,"
         "chosen_because,colour\n"
         "S1,standing,point,Fen,,,9.545123456789,56.004,2025-07-10T08:00:00+02:00,,1,500,risk,\"a\nb\"\n"
         "S2,truck,composite,,,L1,,,,,,,,\nS10,truck,point,,,L1,,,,S2,,,,\n"},
        {"strips",
         "strip,sample,started,kit_lot,commodity,lot_dilution,operator,shelf\n"
         "T1,S1,2025-07-20T09:53:40+02:00,K7,wheat,1,\"Holt, Ada\",\nB1,S2,2025-10-26T02:59:59+02:00,,,,,2\n"},
        {"tests",
         "test,time,sample,don,unit,valid,void_reason,kit_lot,extra_dilution,supersedes,test_signal,control_signal\n"
         "T1,2025-07-20T10:00:00+02:00,S1,<200,ug/kg,,,K7,,,,\nT2,2025-08-01T09:20:00Z,S2,>6,ppm,yes,,K7,1,,,\n"
         "T3,2025-08-01T09:40:00-03:30,S2,7.123456789012345,mg/kg,,,K7,5,T2,,\n"
         "T4,2025-08-01T09:40:00+02:00,S2,,,no,no line,,,,,\n"
         "T10,2025-08-01T10:00:00+02:00,S10,6.5,mg/kg,,,,,T3,,\nT11,2025-08-01T10:05:00+02:00,S10,,,,,K7,,,0.5,1\n"},
        {"moves",
         "move,time,from,to,mass_t,reason\nM1,2025-08-01T10:00:00+02:00,L1,1,24.32,\nM2,2025-09-01T10:00:00+02:00,1,"
         "out,5,sold\n"},
    };
    return all;
}

}  // namespace store_tests
