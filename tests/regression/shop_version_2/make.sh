R="racewright job"
export RACEWRIGHT_SHOP=orchard.rwshop
S=examples/pump-house-saddle.yaml K=examples/pump-house-kick.yaml T=examples/workshop-panel-stub.yaml
$R new orchard --name "Orchard cooperative" --area "Pump house" --by Kim
$R add $S --key PH-01 --area "Pump house" --by Kim
$R add $K --key PH-02 --area "Pump house" --by Kim
$R add $T --key WS-01 --area Workshop --by Sam
$R plan --by Kim
$R set bent PH-02 --by Sam
$R undo --by Sam
$R redo --by Sam
$R record PH-01 --angle 2=44.5 --off up=1/8 --note "rides high" --by Kim
$R record PH-01 --corrected 2=-1.5 --note "opened a little" --by Kim
$R record PH-01 --rise "2=2 7/8" --by Sam
$R undo --by Sam
$R set in PH-01 --by Kim
sed 's/56 1\/4/57 1\/4/' $S > longer.yaml
$R add longer.yaml --key PH-01 --replace --revision 1 --by Sam || true
$R add longer.yaml --key PH-01 --replace --by Kim
$R record WS-01 --note "panel stands proud" --by Sam
$R set in WS-01 --by Sam
$R remove WS-01 --by Sam
$R undo --by Sam
$R undo WS-01 --to 1 --by Sam
$R remove PH-02 --by Kim
$R add $K --key PH-02 --area "Pump house" --by Sam
$R new shed --name "Packing shed" --units mm --by Sam
$R add $T --key WS-01 --job shed --by Sam
