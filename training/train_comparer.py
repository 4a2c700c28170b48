"""Trains the comparer behind a listener that stays as it is: `python3 train_comparer.py WORK OUT --listener LIGHT.pt --seconds 420 [--resume GOING-ON.pt]`.

WORK holds bank-train.npz, bank-eval.npz and takes.npz. Clips of 20 s, and fewer seconds now and then, are rendered afresh as in train.py; the listener hears them
in windows as the engine runs it; what it leaves at each moment (moments.py) is what the comparer learns from. The clips heard worst return. Ends with the tables of
evaluate_comparer.py; OUT/comparer.pt and going-on.pt are written every few minutes and at the end.
"""
import argparse
import copy
import multiprocessing
import time
from pathlib import Path

import numpy as np
import torch

import evaluate
import evaluate_comparer
from comparer import Comparer, VIEWS, loss
from effects import mix
from features import Features
from moments import Views, answers
from rendering import Bank, Renderer
from train import RATE, Clock, HardClips, average_into, next_plans, worker

# Seconds of a clip, one batch in three short: a lesson's few bars have fewer likes to compare with.
LENGTHS = (20.0, 20.0, 20.0, 20.0, 8.0, 4.0)
SAVED_EVERY = 240


@torch.no_grad()
def measure_scale(net, batches):
    """Sets the middle and spread of every input from some batches of (views, there)."""
    for name in VIEWS:
        rows = torch.cat([views[name][there] for views, there in batches]).double()
        getattr(net, f"mean_{name}").copy_(rows.mean(0))
        getattr(net, f"scale_{name}").copy_(1 / rows.std(0).clamp_min(0.02))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("work")
    parser.add_argument("out")
    parser.add_argument("--listener", required=True)
    parser.add_argument("--seconds", type=float, default=420)
    parser.add_argument("--clips", type=int, default=16)
    parser.add_argument("--hard", type=int, default=3, help="of the clips of 20 s, how many are earlier ones that were heard worst")
    parser.add_argument("--workers", type=int, default=14)
    parser.add_argument("--rate", type=float, default=0.001)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--compiled", action="store_true")
    parser.add_argument("--as-played", type=float, default=0.0, help="share of clips whose strokes are a take's own, nothing moved, added or left out")
    parser.add_argument("--resume")
    parser.add_argument("--real")
    parser.add_argument("--eval-clips", type=int, default=32)
    a = parser.parse_args()
    Path(a.out).mkdir(parents=True, exist_ok=True)
    log = open(Path(a.out) / "log.txt", "a")

    def say(text):
        print(text, flush=True)
        log.write(text + "\n")
        log.flush()

    begin = time.time()
    context = multiprocessing.get_context("fork")
    queue = context.Queue(maxsize=3 * a.workers)
    workers = [context.Process(target=worker, args=(a.work, a.seed * 1000 + i, a.clips - a.hard, queue, LENGTHS, a.as_played), daemon=True) for i in range(a.workers)]
    for w in workers:
        w.start()
    device = "cuda" if torch.cuda.is_available() else "cpu"

    def quick(on):
        # Pictures in full precision, as the engine computes them; the networks' products may be a little coarser.
        torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = on

    quick(False)
    torch.backends.cudnn.benchmark = True
    torch.manual_seed(a.seed)
    bank = Bank(f"{a.work}/bank-train.npz", device, seed=a.seed)
    renderer = Renderer(bank, a.compiled)
    generator = torch.Generator(device=device).manual_seed(a.seed)
    make_features, views_of = Features().to(device), Views(whole=64).to(device)
    listener = evaluate.load(a.listener, device)[0].to(memory_format=torch.channels_last)
    net = Comparer().to(device)
    if a.resume:
        net.load_state_dict(torch.load(a.resume, map_location=device))
    average = copy.deepcopy(net).eval()
    optimizer = torch.optim.AdamW(net.parameters(), lr=a.rate, weight_decay=0.02, betas=(0.9, 0.98))
    say(f"{device}, {sum(p.numel() for p in net.parameters())} weights, loaded in {time.time() - begin:.1f} s")
    hard = HardClips(np.random.default_rng(a.seed))

    def save():
        torch.save(average.state_dict(), Path(a.out) / "comparer.pt")
        torch.save(net.state_dict(), Path(a.out) / "going-on.pt")

    saved = time.time()
    start, step, waited, mean, first = time.time(), 0, 0.0, None, []
    while True:
        share = (time.time() - start) / a.seconds
        if share >= 1:
            break
        t0 = time.time()
        seconds, plans = next_plans(queue)
        waited += time.time() - t0
        samples, fresh = int(seconds * RATE), len(plans)
        if seconds == LENGTHS[0]:
            plans = plans + (hard.take(a.hard) or plans[:a.hard])
        clock = Clock(device, step in (60, 300))
        events, clip_of, hits, hit_clip = evaluate.concatenate(plans)
        stems = renderer.render(events, clip_of, len(plans), samples)
        clock.lap("render")
        sound = mix(stems, generator)
        clock.lap("mix")
        pictures = make_features(sound)
        clock.lap("features")
        quick(True)
        onset, velocity, offset, hidden = evaluate.listen_together(listener, pictures)
        quick(False)
        clock.lap("listen")
        with torch.no_grad():
            views, t, there = views_of(sound, pictures, onset, velocity, offset, hidden)
        answer, lost = answers(hits, hit_clip, t, there)
        clock.lap("views")
        if not a.resume and len(first) < 12:
            first.append(({name: v.cpu() for name, v in views.items()}, there.cpu()))
            if len(first) == 12:
                measure_scale(net, first)
                measure_scale(average, first)
            continue
        for group in optimizer.param_groups:
            group["lr"] = a.rate * min(1.0, (step + 1) / 200) * max(0.5 * (1 + np.cos(np.pi * share)), 1e-3)
        hole = 1 - there.float()
        quick(True)
        each = loss(net(views, hole), answer, there)
        optimizer.zero_grad(set_to_none=True)
        each.mean().backward()
        quick(False)
        size = torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        if not torch.isfinite(size):
            say(f"step {step}: the gradient is not finite; the step is left out")
            continue
        optimizer.step()
        average_into(average, net, max(1e-3, 1 / (step + 1)))
        clock.lap("learn")
        if clock.laps:
            say("milliseconds: " + ", ".join(clock.laps) + f"; moments {int(there.sum())}, longest {there.shape[1]}")
        each = each.detach().cpu().numpy()
        if seconds == LENGTHS[0]:
            hard.keep(plans, each, fresh, a.hard)
        now = np.array([float(each[:fresh].mean()), lost])
        mean = now if mean is None else 0.98 * mean + 0.02 * now
        step += 1
        if step in (1, 10, 100, 300) or step % 500 == 0:
            passed = time.time() - start
            say(f"step {step}, {passed:.0f} s, waited {waited:.1f} s, loss {mean[0]:.4f}, hits without a moment {mean[1]:.4f}")
        if time.time() - saved > SAVED_EVERY:
            save()
            saved = time.time()
    for w in workers:
        w.terminate()
    say(f"{step} steps, waited {waited:.1f} s for plans")
    save()
    evaluate_comparer.report(listener, average, a.work, device, bank, a.real, say, a.eval_clips)


if __name__ == "__main__":
    main()
