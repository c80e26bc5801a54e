/** The run in the room, to be turned about. Loaded only when the 3D view is opened. */
import * as THREE from 'three';
import { OrbitControls } from 'three/examples/jsm/controls/OrbitControls.js';
import type { PlanAnswer } from '../engine/types';
import { clamp } from './sketch';

export interface Room {
  stand: (where: 'corner' | 'front' | 'above' | 'end') => void;
  turn: (by_rad: number) => void;
  close: () => void;
}

interface Colours {
  back: string;
  tube: string;
  thing: string;
  mark: string;
  grid: string;
  low: string;
}

/** room x, y, z (z up) -> three's x, z, -y */
const to3 = (p: readonly number[]): THREE.Vector3 => new THREE.Vector3(p[0], p[2], -p[1]!);

export function openRoom(canvas: HTMLCanvasElement, answer: PlanAnswer, colours: Colours): Room {
  const renderer = new THREE.WebGLRenderer({ canvas, antialias: true });
  renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
  const scene = new THREE.Scene();
  scene.background = new THREE.Color(colours.back);
  const all = addThings(scene, answer, colours);
  const box = new THREE.Box3().setFromPoints(all.length ? all : [new THREE.Vector3()]);
  const middle = box.getCenter(new THREE.Vector3());
  const size = Math.max(box.getSize(new THREE.Vector3()).length(), 200);
  addGround(scene, middle, size, colours);
  const camera = new THREE.PerspectiveCamera(38, 1, size / 200, size * 20);
  const controls = new OrbitControls(camera, canvas);
  controls.target.copy(middle);
  controls.minDistance = size * 0.1;
  controls.maxDistance = size * 5;
  const show = (): void => renderer.render(scene, camera);
  controls.addEventListener('change', show);
  const fitIn = (): void => {
    const { clientWidth: w, clientHeight: h } = canvas;
    renderer.setSize(w, h, false);
    camera.aspect = w / Math.max(h, 1);
    camera.updateProjectionMatrix();
    show();
  };
  const watch = new ResizeObserver(fitIn);
  watch.observe(canvas);
  const directions = { corner: [-0.45, 0.55, 0.9], front: [0, 0.02, 1], above: [0, 1, 0.001], end: [-1, 0.12, 0.02] } as const;
  const stand = (where: keyof typeof directions): void => {
    const d = new THREE.Vector3(...directions[where]).normalize();
    const far = (size * 0.54) / Math.tan((camera.fov * Math.PI) / 360) / Math.min(1, Math.max(camera.aspect, 0.6));
    camera.position.copy(middle).addScaledVector(d, far);
    controls.update();
    show();
  };
  fitIn();
  stand('corner');
  return {
    stand,
    turn: (by) => {
      const d = camera.position.clone().sub(middle).applyAxisAngle(new THREE.Vector3(0, 1, 0), by);
      camera.position.copy(middle).add(d);
      controls.update();
      show();
    },
    close: () => {
      watch.disconnect();
      controls.dispose();
      scene.traverse((o) => o instanceof THREE.Mesh && (o.geometry as THREE.BufferGeometry).dispose());
      renderer.dispose();
    },
  };
}

/** The conduit with its bends, the fittings, and what it goes past; gives the points that the view is set to. */
function addThings(scene: THREE.Scene, answer: PlanAnswer, colours: Colours): THREE.Vector3[] {
  const all: THREE.Vector3[] = [];
  const od = answer.plan.pieces[0]?.outside_diameter_mm ?? 18;
  const metal = new THREE.MeshStandardMaterial({ color: colours.tube, metalness: 0.35, roughness: 0.42 });
  answer.paths.forEach((path) => {
    const points = path.points.map(to3);
    all.push(...points);
    const curve = new THREE.CurvePath<THREE.Vector3>();
    for (let i = 1; i < points.length; i += 1) {
      if (points[i - 1]!.distanceTo(points[i]!) > 1e-6) curve.add(new THREE.LineCurve3(points[i - 1], points[i]));
    }
    const parts = clamp(Math.round(curve.getLength() / 6), 60, 900);
    scene.add(new THREE.Mesh(new THREE.TubeGeometry(curve, parts, od / 2, 18), metal));
    path.bend_middles.forEach((middle) => {
      const ball = new THREE.Mesh(
        new THREE.SphereGeometry(od * 0.62, 20, 14),
        new THREE.MeshStandardMaterial({ color: colours.mark, roughness: 0.6, transparent: true, opacity: 0.55 }),
      );
      ball.position.copy(to3(middle));
      scene.add(ball);
    });
  });
  answer.fittings.flatMap((fitting) => fitting.parts).forEach((part) => {
    const mesh = solidMesh(part, metal);
    if (mesh) scene.add(mesh);
  });
  answer.plan.obstacles.forEach((obstacle, i) => {
    const look = new THREE.MeshStandardMaterial({
      color: answer.clearances[i]!.low ? colours.low : colours.thing,
      roughness: 0.85,
      transparent: true,
      opacity: 0.82,
    });
    const mesh = solidMesh(obstacle.solid, look);
    if (mesh) scene.add(mesh);
  });
  return all;
}

/** The floor under the run, and the light. */
function addGround(scene: THREE.Scene, middle: THREE.Vector3, size: number, colours: Colours): void {
  const grid = new THREE.GridHelper(Math.ceil(size / 304.8 + 2) * 609.6, Math.ceil(size / 304.8 + 2) * 2, colours.grid, colours.grid);
  grid.position.set(middle.x, 0, middle.z);
  scene.add(grid);
  scene.add(new THREE.HemisphereLight('#ffffff', '#7d8a86', 2.1));
  const sun = new THREE.DirectionalLight('#ffffff', 1.9);
  sun.position.set(middle.x + size * 0.4, middle.y + size, middle.z + size * 0.7);
  scene.add(sun);
}

type Solid = PlanAnswer['plan']['obstacles'][number]['solid'];

function solidMesh(solid: Solid, look: THREE.Material): THREE.Mesh | null {
  if (solid.solid === 'cylinder') {
    const [a, b] = [to3(solid.start), to3(solid.end)];
    const axis = b.clone().sub(a);
    const mesh = new THREE.Mesh(new THREE.CylinderGeometry(solid.radius_mm, solid.radius_mm, axis.length(), 40), look);
    mesh.position.copy(a.clone().add(b).multiplyScalar(0.5));
    mesh.quaternion.setFromUnitVectors(new THREE.Vector3(0, 1, 0), axis.normalize());
    return mesh;
  }
  if (solid.solid === 'box') {
    const edges = [solid.edge_x, solid.edge_y, solid.edge_z].map(to3);
    const sizes = edges.map((e) => e.length()) as [number, number, number];
    const mesh = new THREE.Mesh(new THREE.BoxGeometry(...sizes), look);
    const unit = edges.map((e) => e.clone().normalize());
    const basis = new THREE.Matrix4().makeBasis(unit[0]!, unit[1]!, unit[2]!);
    if (basis.determinant() < 0) basis.makeBasis(unit[0]!.negate(), unit[1]!, unit[2]!);
    mesh.quaternion.setFromRotationMatrix(basis);
    mesh.position.copy(edges.reduce((p, e) => p.addScaledVector(e, 0.5), to3(solid.corner)));
    return mesh;
  }
  return null;
}
