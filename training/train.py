"""Trains the listener for a given time: `python3 train.py WORK OUT --seconds 420 [--real REAL.npz]`.

WORK holds bank-train.npz, bank-eval.npz and takes.npz. Writes OUT/NAME.pt for each network and OUT/log.txt; ends with the tables of
evaluate.py. Worker processes plan the clips, the accelerator renders every batch afresh. Several networks can learn from the same
batches (--nets), since making the sound costs more than learning from it.
"""
import argparse
import copy
import json
import multiprocessing
import os
import time
import traceback
from pathlib import Path

import numpy as np
import torch

import evaluate
import patterns
import planning
from effects import mix
from features import Features
from network import Listener, loss, targets
from rendering import Bank, Renderer

RATE, SECONDS = 44100, 5.0
SHAPES = {
    "plain": dict(echo=False),
    "echo": dict(echo=True),
    "slim": dict(echo=True, channels=(16, 24, 40), width=112),
    "light": dict(echo=True, channels=(32, 48, 64), separable=True, stride=3),
    "tiny": dict(echo=True, channels=(8, 8, 8), width=16),
}


def worker(work, seed, clips, queue, lengths=(SECONDS,), as_played=0.0):
    """Plans batches for ever, each of clips of one of `lengths`, as many as make `clips` of the first; a failure travels to the trainer as text.

    Puts (seconds of a clip, plans).
    """
    try:
        os.environ["OMP_NUM_THREADS"] = "1"
        kits = planning.KitTable(np.load(f"{work}/bank-train.npz", allow_pickle=False))
        takes = patterns.Takes(f"{work}/takes.npz", False)
        random = np.random.default_rng(seed)
        while True:
            seconds = random.choice(lengths)
            count = round(clips * lengths[0] / seconds)
            queue.put((seconds, [planning.plan_clip(random, kits, takes, seconds, random.random() < as_played) for _ in range(count)]))
    except BaseException:
        queue.put(traceback.format_exc())
        raise


def next_plans(queue):
    """(seconds, plans) of one batch. Raises RuntimeError with the worker's own story where one failed."""
    plans = queue.get()
    if isinstance(plans, str):
        raise RuntimeError("a worker failed:\n" + plans)
    return plans


def average_into(average, net, share):
    with torch.no_grad():
        for a, b in zip(average.state_dict().values(), net.state_dict().values()):
            if a.dtype.is_floating_point:
                a.lerp_(b, share)
            else:
                a.copy_(b)


class Clock:
    """Where one step's time goes; waits for the accelerator only when asked to measure."""

    def __init__(self, device, on):
        self.on, self.device, self.laps, self.last = on, device, [], 0.0
        self.lap(None)

    def lap(self, name):
        if self.on:
            if self.device == "cuda":
                torch.cuda.synchronize()
            now = time.time()
            if name:
                self.laps.append(f"{name} {(now - self.last) * 1000:.0f}")
            self.last = now


class HardClips:
    """Clips that were heard worst lately; a few return in each batch with new effects."""

    def __init__(self, random, room=384):
        self.random, self.room, self.clips = random, room, []

    def take(self, count):
        if len(self.clips) < self.room // 2:
            return []
        places = sorted(self.random.choice(len(self.clips), count, replace=False), reverse=True)
        return [self.clips.pop(i) for i in places]

    def keep(self, plans, losses, fresh, count=6):
        for i in np.argsort(-losses[:fresh])[:count]:
            if len(self.clips) >= self.room:
                self.clips.pop(self.random.integers(len(self.clips)))
            self.clips.append(plans[i])


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("work")
    parser.add_argument("out")
    parser.add_argument("--seconds", type=float, default=420, help="time to learn, without loading and the tables")
    parser.add_argument("--real", help="packed real recordings, for the tables only")
    parser.add_argument("--nets", default="echo", help="comma-separated: " + ", ".join(SHAPES))
    parser.add_argument("--clips", type=int, default=64)
    parser.add_argument("--hard", type=int, default=8)
    parser.add_argument("--workers", type=int, default=max(1, (os.cpu_count() or 2) - 2))
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--compiled", action="store_true", help="fuse the summing of sounds with torch.compile")
    parser.add_argument("--fused", action="store_true", help="fuse the networks with torch.compile as well")
    parser.add_argument("--resume", help="folder with earlier NAME.pt files; networks that have one go on from it")
    parser.add_argument("--teacher", help="a trained NAME.pt whose onsets the networks learn from as well; without it the first of --nets teaches the others")
    parser.add_argument("--eval-clips", type=int, default=84)
    a = parser.parse_args()
    Path(a.out).mkdir(parents=True, exist_ok=True)
    log = open(Path(a.out) / "log.txt", "a")

    def say(text):
        print(text, flush=True)
        log.write(text + "\n")
        log.flush()

    begin = time.time()
    context = multiprocessing.get_context("fork")
    queue = context.Queue(maxsize=4 * a.workers)
    workers = [context.Process(target=worker, args=(a.work, a.seed * 1000 + i, a.clips - a.hard, queue), daemon=True) for i in range(a.workers)]
    for w in workers:
        w.start()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    # Features in full precision, as the engine computes them; the network itself learns in bfloat16.
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = False
    torch.backends.cudnn.benchmark = True
    torch.manual_seed(a.seed)
    bank = Bank(f"{a.work}/bank-train.npz", device, seed=a.seed)
    renderer = Renderer(bank, a.compiled)
    generator = torch.Generator(device=device).manual_seed(a.seed)
    # Clips carry noise of their own.
    make_features = Features(floor=0).to(device)
    names = a.nets.split(",")
    nets, runs, averages, optimizers = [], [], [], []
    for name in names:
        net = Listener(**SHAPES[name]).to(device, memory_format=torch.channels_last)
        if a.resume and Path(f"{a.resume}/{name}.pt").exists():
            net.load_state_dict(torch.load(f"{a.resume}/{name}.pt", map_location=device, weights_only=True)["net"])
        nets.append(net)
        runs.append(torch.compile(net, dynamic=False) if a.fused else net)
        averages.append(copy.deepcopy(net).eval())
        optimizers.append(torch.optim.AdamW(net.parameters(), lr=a.rate, weight_decay=0.02, betas=(0.9, 0.98)))
        say(f"{name}: {sum(p.numel() for p in net.parameters())} weights")
    guide = evaluate.load(a.teacher, device)[0] if a.teacher else None
    say(f"{device}, loaded in {time.time() - begin:.1f} s, {a.workers} workers")

    hard = HardClips(np.random.default_rng(a.seed))
    samples, frames = int(SECONDS * RATE), int(SECONDS * 100)
    start, step, waited, mean = time.time(), 0, 0.0, None
    while True:
        share = (time.time() - start) / a.seconds
        if share >= 1:
            break
        t0 = time.time()
        _, plans = next_plans(queue)
        waited += time.time() - t0
        fresh = len(plans)
        # Until there are hard clips, some fresh ones come twice under different effects: batches keep their size.
        plans = plans + (hard.take(a.hard) or plans[:a.hard])
        clock = Clock(device, step == 40)
        events, clip_of, hits, hit_clip = evaluate.concatenate(plans)
        stems = renderer.render(events, clip_of, len(plans), samples)
        clock.lap("render")
        sound = mix(stems, generator)
        clock.lap("mix")
        x = make_features(sound).contiguous(memory_format=torch.channels_last)
        clock.lap("features")
        target = targets(hits, hit_clip, len(plans), frames, device)
        losses, teacher = [], None
        if guide:
            with torch.no_grad(), torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
                teacher = guide(x)[0]
        for net, run, average, optimizer in zip(nets, runs, averages, optimizers):
            warm = min(1.0, (step + 1) / 200)
            for group in optimizer.param_groups:
                group["lr"] = a.rate * warm * max(0.5 * (1 + np.cos(np.pi * share)), 1e-3)
            with torch.autocast(device, dtype=torch.bfloat16, enabled=device == "cuda"):
                out = run(x)
            each = loss(out, target, teacher)
            teacher = out[0].detach() if teacher is None else teacher
            optimizer.zero_grad(set_to_none=True)
            each.mean().backward()
            size = torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
            if not torch.isfinite(size):
                say(f"step {step}: the gradient is not finite; the step is left out")
                continue
            optimizer.step()
            average_into(average, net, max(1e-3, 1 / (step + 1)))
            losses.append(each.detach())
            clock.lap("learn")
        if clock.laps:
            say("milliseconds: " + ", ".join(clock.laps))
        hard.keep(plans, losses[0].cpu().numpy(), fresh)
        now = np.array([float(l.mean()) for l in losses])
        mean = now if mean is None else 0.98 * mean + 0.02 * now
        step += 1
        if step in (1, 2, 3, 10, 30, 100, 300) or step % 500 == 0:
            passed = time.time() - start
            say(f"step {step}, {passed:.0f} s, {passed / step * 1000:.0f} ms a step, waited {waited:.1f} s, loss {np.round(mean, 4).tolist()}")
    for w in workers:
        w.terminate()
    say(f"{step} steps, {(time.time() - start) / max(step, 1) * 1000:.0f} ms a step, waited {waited:.1f} s for plans")
    for name, net, average in zip(names, nets, averages):
        torch.save({"shape": json.loads(json.dumps(SHAPES[name])), "net": net.state_dict(), "average": average.state_dict()}, Path(a.out) / f"{name}.pt")
    begin = time.time()
    sets = evaluate.rendered_sets(a.work, device, bank, per_kit=a.eval_clips, clips=2 * a.eval_clips)
    real = evaluate.real_set(a.real, device) if a.real else None
    for name, average in zip(names, averages):
        say(f"== {name}")
        thresholds, calibration = evaluate.report(average, sets, real, say)
        saved = torch.load(Path(a.out) / f"{name}.pt", weights_only=True)
        saved["thresholds"], saved["calibration"] = torch.tensor(thresholds), torch.tensor(calibration)
        torch.save(saved, Path(a.out) / f"{name}.pt")
    say(f"tables in {time.time() - begin:.0f} s")


if __name__ == "__main__":
    main()
