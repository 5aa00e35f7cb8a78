# An invented farm without weather, of the season in which the machine's clock stands, for that is what the window writes
# with. make_farm STORE leaves three fields, their crops and a control; put_strips a kit lot that is read after three
# seconds; put_mill three bins and the eight trucks that came yesterday.
day=$(date -d yesterday +%Y-%m-%d)
year=${day%%-*}
square() {  # NAME WEST SOUTH
    printf '{"type":"Feature","properties":{"field":"%s"},"geometry":{"type":"Polygon","coordinates":[[[%s,%s],[%s,%s],[%s,%s],[%s,%s],[%s,%s]]]}}' \
        "$1" "$2" "$3" "$2"8 "$3" "$2"8 "$3"6 "$2" "$3"6 "$2" "$3"
}
# put STORE KIND: the table on standard input.
put() {
    local file=$work/put.csv
    [ "$2" = fields ] && file=$work/put.geojson
    cat >"$file"
    "$program" import "$1" "$2" "$file" >"$work/put-out" 2>&1 || give_up "$2 cannot be put into the store: $(cat "$work/put-out")"
}
make_farm() {
    "$program" new "$1" >"$work/new-out" 2>&1 || give_up "no store can be made: $(cat "$work/new-out")"
    put "$1" fields <<TEXT
{"type":"FeatureCollection","features":[$(square "Mill Piece" 9.50 56.00),$(square Fen 9.52 56.00),$(square "Long Acre" 9.54 56.00)]}
TEXT
    put "$1" crops <<TEXT
field,season,crop,wheat_type
Mill Piece,$year,wheat,winter
Fen,$year,wheat,winter
Long Acre,$year,wheat,winter
TEXT
    put "$1" controls <<TEXT
control,assigned_mg_per_kg,low_mg_per_kg,high_mg_per_kg
C1,1,0.8,1.2
TEXT
}
put_strips() {
    put "$1" kit-lots <<TEXT
kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires,incubation_least_s,incubation_most_s
K7,wheat,6,0.2,6,$((year + 2))-08-01,3,1800
TEXT
}
# Tickets of digits that enter no room of the window.
declare -A ticket_of=([T1]=9006 [T2]=9007 [T3]=9008 [T4]=9009 [T5]=9060 [T6]=9066 [T7]=9067 [T8]=9068)
put_mill() {
    put "$1" bins <<TEXT
bin,capacity_t,purpose,limit_id
M1,90,food,eu-food-wheat
H1,40,hold,
R1,60,other,
TEXT
    put "$1" loads <<TEXT
load,time,ticket,commodity,supplier,net_t
$(for i in $(seq 8); do echo "T$i,${day}T0$i:00:00+00:00,${ticket_of[T$i]},wheat,G$i,12"; done)
TEXT
    put "$1" load-parts <<TEXT
load,field,share
T2,Mill Piece,1
T3,Mill Piece,1
T4,Fen,0.5
T4,Mill Piece,0.5
T5,Mill Piece,1
T6,Mill Piece,1
T8,Mill Piece,1
TEXT
    put "$1" samples <<TEXT
sample,stage,kind,load
$(for load in T1 T2 T3 T4 T5 T7; do echo "S$load,truck,composite,$load"; done)
ST1b,truck,composite,T1
ST7b,truck,composite,T7
TEXT
    put "$1" tests <<TEXT
test,time,sample,don,unit
RST1,${day}T09:30:00+00:00,ST1,<0.2,mg/kg
RST2,${day}T09:31:00+00:00,ST2,3.4,mg/kg
RST3,${day}T09:32:00+00:00,ST3,2.9,mg/kg
RST4,${day}T09:33:00+00:00,ST4,<0.2,mg/kg
RST5,${day}T09:34:00+00:00,ST5,1.6,mg/kg
RST7,${day}T09:35:00+00:00,ST7,<0.2,mg/kg
RST1b,${day}T09:36:00+00:00,ST1b,<0.2,mg/kg
RST7b,${day}T09:37:00+00:00,ST7b,<0.2,mg/kg
TEXT
}
