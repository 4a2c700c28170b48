using Hindbeat.Performances;
using Hindbeat.Units;

namespace Hindbeat.Charting;

/// <summary>
/// Lines, spaces and noteheads of the kit. Two are ready, <see cref="Guidelines"/> and
/// <see cref="HatsOnTopLine"/>; any piece can be moved with <see cref="With"/>.
/// </summary>
public sealed class StaffMap : IEquatable<StaffMap>
{
    private readonly Dictionary<KitPiece, StaffPlace> _places;

    private StaffMap(Dictionary<KitPiece, StaffPlace> places) => _places = places;

    /// <summary>
    /// After N. Weinberg, "Guidelines for Drumset Notation", Percussive Notes, June 1994. Where we differ:
    /// splash, china and "other" are not taken from there; they stand on free places, and the key on the page
    /// names them.
    /// </summary>
    public static StaffMap Guidelines { get; } = new(new Dictionary<KitPiece, StaffPlace>
    {
        [KitPiece.HatPedal] = new('D', 4, Head.Cross),
        [KitPiece.Kick] = new('F', 4, Head.Normal),
        [KitPiece.TomLow] = new('A', 4, Head.Normal),
        [KitPiece.Other] = new('B', 4, Head.Triangle),
        [KitPiece.Snare] = new('C', 5, Head.Normal),
        [KitPiece.CrossStick] = new('C', 5, Head.Cross),
        [KitPiece.TomMid] = new('D', 5, Head.Normal),
        [KitPiece.TomHigh] = new('E', 5, Head.Normal),
        [KitPiece.Ride] = new('F', 5, Head.Cross),
        [KitPiece.RideBell] = new('F', 5, Head.Diamond),
        [KitPiece.HatClosed] = new('G', 5, Head.Cross),
        [KitPiece.HatOpen] = new('G', 5, Head.Cross),
        [KitPiece.Crash] = new('A', 5, Head.Cross),
        [KitPiece.China] = new('A', 5, Head.CircledCross),
        [KitPiece.Splash] = new('B', 5, Head.Cross),
    });

    /// <summary>Hats on the top line and the ride in the space above it, the kick on the lowest line; otherwise as the guidelines (common practice, no source).</summary>
    public static StaffMap HatsOnTopLine { get; } = Guidelines
        .With(KitPiece.Kick, new('E', 4, Head.Normal))
        .With(KitPiece.HatClosed, new('F', 5, Head.Cross))
        .With(KitPiece.HatOpen, new('F', 5, Head.Cross))
        .With(KitPiece.Ride, new('G', 5, Head.Cross))
        .With(KitPiece.RideBell, new('G', 5, Head.Diamond));

    /// <summary>The same with one piece moved.</summary>
    /// <exception cref="InputException">No line, space or head of that name, or beyond two ledger lines.</exception>
    public StaffMap With(KitPiece piece, StaffPlace place)
    {
        if (place.Step is < 'A' or > 'G' || !Enum.IsDefined(place.Head) || Math.Abs(place.StepsAboveMiddle) > 9)
            throw new InputException($"{piece.Name()} cannot be written on {place.Step}{place.Octave}; the places run from G3 to D6, named as in the treble clef.");
        return new StaffMap(new Dictionary<KitPiece, StaffPlace>(_places) { [piece] = place });
    }

    /// <summary>The head of a stroke: its piece's, but slashed for a rimshot (common practice, no source).</summary>
    public Head HeadOf(KitPiece piece, HitMarks marks)
    {
        Head head = Place(piece).Head;
        return head == Head.Normal && marks.HasFlag(HitMarks.Rimshot) ? Head.Slashed : head;
    }

    public bool Equals(StaffMap? other) => other is not null && KitPieces.All.All(piece => Place(piece) == other.Place(piece));

    public override bool Equals(object? obj) => Equals(obj as StaffMap);

    public override int GetHashCode() => KitPieces.All.Aggregate(0, (hash, piece) => HashCode.Combine(hash, Place(piece)));

    public StaffPlace Place(KitPiece piece) => _places.TryGetValue(piece, out StaffPlace place)
        ? place
        : throw new ArgumentOutOfRangeException(nameof(piece), piece, "Not a piece of the kit.");
}
