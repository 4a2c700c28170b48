using Hindbeat.Performances;

namespace Hindbeat.StrokeTemplates;

/// <summary>
/// Renders part of a MIDI take with altered strokes, so that no two recordings sound alike: pieces detuned and rebalanced,
/// hats moved to the ride, metal left out, kicks under snares; then equaliser, room, drive and noise.
/// </summary>
internal sealed class TakeMaker(StrokeBank bank, Random random)
{
    private const int Rate = 44100;
    private const double Lead = 0.3;
    private readonly ColourFilters _colour = new(random);

    public (float[] Samples, List<(double Time, KitPiece Piece)> Truth) Make(string midiFile)
    {
        string view = StrokeBank.Views[random.Next(StrokeBank.Views.Length)];
        List<(double Time, KitPiece Piece, int Velocity)> notes = Notes(midiFile);
        Dictionary<KitPiece, (double Pitch, double Gain)> kit = KitPieces.All.ToDictionary(
            piece => piece, _ => (Math.Pow(2, ColourFilters.Normal(random) * 0.15), Math.Pow(10, ColourFilters.Normal(random) * 4 / 20)));
        float[] samples = new float[(int)((notes.Max(note => note.Time) + 2) * Rate)];
        for (int i = 0; i < notes.Count; i++)
            Strike(samples, notes, i, bank.Layers(view, notes[i].Piece), kit[notes[i].Piece]);
        _colour.Apply(samples);
        return (samples, [.. notes.Where(note => bank.Layers(view, note.Piece).Length > 0).Select(note => (note.Time, note.Piece))]);
    }

    private List<(double Time, KitPiece Piece, int Velocity)> Notes(string midiFile)
    {
        bool withoutMetal = random.NextDouble() < 0.12;
        bool kickWithSnare = random.NextDouble() < 0.15;
        bool hatToRide = random.NextDouble() < 0.12;
        bool rideToHat = random.NextDouble() < 0.1;
        double length = 12 + (28 * random.NextDouble());
        IReadOnlyList<Hit> hits = KitMidiFile.Read(midiFile).Hits;
        double start = Math.Max(0, (hits[^1].Time.TotalSeconds - length) * random.NextDouble());
        List<(double Time, KitPiece Piece, int Velocity)> notes = [];
        foreach (Hit hit in hits)
        {
            double time = hit.Time.TotalSeconds - start;
            KitPiece piece = hit.Piece;
            if (time < 0 || time >= length || (withoutMetal && piece.Family() is PieceFamily.Hat or PieceFamily.Cymbal && piece != KitPiece.Crash))
                continue;
            piece = hatToRide && piece == KitPiece.HatClosed ? KitPiece.Ride : rideToHat && piece == KitPiece.Ride ? KitPiece.HatClosed : piece;
            notes.Add((time + Lead, piece, hit.Velocity));
            if (kickWithSnare && piece == KitPiece.Snare && hit.Velocity > 60)
                notes.Add((time + Lead + (random.NextDouble() * 0.012) - 0.004, KitPiece.Kick, hit.Velocity));
        }

        if (notes.Count == 0)
            notes.Add((1, KitPiece.Kick, 90));
        notes.Sort();
        return notes;
    }

    private void Strike(float[] samples, List<(double Time, KitPiece Piece, int Velocity)> notes, int i, float[][] layers, (double Pitch, double Gain) kit)
    {
        if (layers.Length == 0)
            return;
        (double time, KitPiece piece, int velocity) = notes[i];
        int layer = Math.Clamp((int)(velocity / 128.0 * layers.Length) + random.Next(3) - 1, 0, layers.Length - 1);
        double decibels = 40 * Math.Log10(velocity / 127.0 / ((layer + 0.5) / layers.Length));
        float gain = (float)(0.5 * kit.Gain * Math.Pow(10, Math.Clamp(decibels, -6, 6) / 20)) * (piece == KitPiece.HatPedal ? 0.5f : 1f);
        // The next stroke on the hats chokes this one.
        double choke = piece.Family() == PieceFamily.Hat
            ? notes.Skip(i + 1).FirstOrDefault(note => note.Piece.Family() == PieceFamily.Hat, (Time: double.MaxValue, Piece: piece, Velocity: 0)).Time
            : double.MaxValue;
        int at = (int)Math.Round(time * Rate);
        float[] wave = layers[layer];
        int length = Math.Min((int)((wave.Length - 2) / kit.Pitch), samples.Length - at);
        for (int k = 0; k < length; k++)
        {
            double past = k - ((choke - time) * Rate);
            double fade = past > 0 ? 1 - (past / 1300) : 1;
            if (fade <= 0)
                break;
            double place = k * kit.Pitch;
            int left = (int)place;
            samples[at + k] += (float)(gain * fade * (wave[left] + ((place - left) * (wave[left + 1] - wave[left]))));
        }
    }
}
