using System.Security.Cryptography;
using Hindbeat.Rebuilding;
using Hindbeat.Studies;

namespace Hindbeat.Bench.Desk;

/// <summary>A question that ears are tested with: one of two rebuilds has more of something.</summary>
/// <param name="Id">Short word that answers are kept under.</param>
/// <param name="Asks">The question as it is printed.</param>
/// <param name="Without">The plain version.</param>
/// <param name="With">The one to point at.</param>
public sealed record EarQuestion(string Id, string Asks, Dials Without, Dials With)
{
    public static IReadOnlyList<EarQuestion> All { get; } =
    [
        new("swing", "Which one swings?", Dials.AsWritten, Dials.SwingOnly),
        new("lay-back", "Which one is laid back?", Dials.SwingOnly, Dials.SwungAndLaidBack),
        new("lay-back-2", "Which one is laid back? (doubled)", Dials.SwingOnly, Dials.SwungAndLaidBack with { LayBack = 2 }),
        new("touch", "Which one has the drummer’s touch?", Dials.SwungAndLaidBack, Dials.SwungAndLaidBack with { Touch = 1 }),
        new("looseness", "Which one has the drummer’s own looseness?", Dials.SwungAndLaidBack with { Habits = 1, Touch = 1 }, Dials.SwungAndLaidBack with { Habits = 1, Touch = 1, Looseness = 1 }),
        new("tempo", "Which one breathes in tempo?", Dials.AsPlayed with { Tempo = 0 }, Dials.AsPlayed),
    ];

    /// <summary>How far apart the two versions' strokes lie, milliseconds: the mean of the tenth that moves most; and decibels likewise.</summary>
    public double MovesMs(Study study)
    {
        IReadOnlyList<PlannedStroke> a = RebuildPlan.Make(study.Performance, study.Feel, Without), b = RebuildPlan.Make(study.Performance, study.Feel, With);
        double[] moves = [.. a.Zip(b, (x, y) => Math.Abs((x.Time - y.Time).Milliseconds)).OrderDescending()];
        return moves.Take(Math.Max(1, moves.Length / 10)).Average();
    }
}

/// <summary>
/// Listening tests under way. Which of the two is which is drawn here and stays here: neither the page nor the address of a sound
/// tells it before the answer.
/// </summary>
public sealed class BlindTests
{
    private const int MostUnderWay = 64;

    private readonly Lock _gate = new();
    private readonly LinkedList<(string Ticket, string Study, EarQuestion Question, bool FirstHasIt)> _underWay = [];

    /// <returns>A ticket that the two sounds are asked for with.</returns>
    public string Begin(string study, EarQuestion question)
    {
        string ticket = Convert.ToHexStringLower(RandomNumberGenerator.GetBytes(12));
        lock (_gate)
        {
            _underWay.AddFirst((ticket, study, question, RandomNumberGenerator.GetInt32(2) == 0));
            if (_underWay.Count > MostUnderWay)
                _underWay.RemoveLast();
        }

        return ticket;
    }

    /// <summary>What "a" or "b" plays; null for a ticket that is not known.</summary>
    public Dials? DialsOf(string study, string ticket, string which)
    {
        lock (_gate)
        {
            foreach (var test in _underWay)
            {
                if (test.Ticket == ticket && test.Study == study)
                    return (which == "a") == test.FirstHasIt ? test.Question.With : test.Question.Without;
            }
        }

        return null;
    }

    /// <summary>Ends a test. True when the one pointed at is the one asked for; null for a ticket that is not known (or answered).</summary>
    public bool? Answer(string ticket, string which)
    {
        lock (_gate)
        {
            for (var node = _underWay.First; node is not null; node = node.Next)
            {
                if (node.Value.Ticket != ticket)
                    continue;
                _underWay.Remove(node);
                return (which == "a") == node.Value.FirstHasIt;
            }
        }

        return null;
    }
}
