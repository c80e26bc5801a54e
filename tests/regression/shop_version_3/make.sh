R="racewright job"
B="racewright bender"
export RACEWRIGHT_SHOP=orchard.rwshop RACEWRIGHT_HOME=home
S=examples/pump-house-saddle.yaml K=examples/workshop-bench-u.yaml T=examples/pump-house-kick.yaml
on() { sed "s/^  raceway: \(.*\)$/  raceway: \1\n  bender: $1/" "$2"; }
$B add blue-half --raceway EMT --size 1/2 --take-up 5-1/16 --gain 2-11/16
$B add bench-half --raceway EMT --size 1/2 --radius "4 1/4 in" --arrow-lead=-1/8 --grip "7 in"
$R new orchard --name "Orchard cooperative" --area "Pump house" --by Kim
on blue-half $S > s.yaml; on Blue-Half $K > k.yaml; on bench-half $K > b.yaml
$R add s.yaml --key PH-01 --area "Pump house" --by Kim
$R add k.yaml --key PH-02 --area "Pump house" --by Kim
$R add b.yaml --key PH-03 --by Sam
$R add $T --key WS-01 --by Sam
$R plan --by Kim
$R set bent PH-02 --by Sam
$R record PH-01 --made 1=22.5@19-3/4 --by Sam
$R record PH-02 --angle 1=20 --by Kim
$R undo --by Kim
$R add $S --key PH-03 --replace --by Sam
$R undo PH-03 --by Sam
sed 's/56 1\/4/57 1\/4/' s.yaml > longer.yaml
$R add longer.yaml --key PH-01 --replace --revision 9 --by Sam || true
$R remove WS-01 --by Kim
$B add blue-half --raceway EMT --size 1/2 --take-up 5-1/8 --gain 2-11/16 --replace
$R new shed --name "Packing shed" --by Sam
$R add s.yaml --key PS-01 --job shed --by Sam
$R add b.yaml --key PS-02 --job shed --by Sam
$R export orchard-job-2.json --job orchard
$R export shed-job-2.json --job shed
$R plan --by Sam --job orchard --json > orchard-plan.json || true
$R plan --by Sam --job shed --json > shed-plan.json || true
